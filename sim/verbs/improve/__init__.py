"""What to change toward a target, how far, and what it costs elsewhere: `hotside improve`."""
