"""What one exhaust reading cannot tell: the mixtures and timings that give the same."""
