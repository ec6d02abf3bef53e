"""Cylinder pressure in, burn rate out, and back in as a submodel: `hotside burn`."""
