"""What `predict` keeps beyond its table: the picture of the cycle and the page."""
