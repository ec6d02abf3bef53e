"""The same as `predict` over many points: a grid, a zipped list or a sampled design of any inputs."""
