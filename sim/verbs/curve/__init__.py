"""Full load against engine speed: what `predict --speed` gives."""
