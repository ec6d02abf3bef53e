"""Bands on every reading from what the inputs may be, and which input drives which reading."""
