"""Boost against time after a tip-in, and the boost threshold."""
