"""What a log or a few gauges mean: the model fitted to them, and how sure it is."""
