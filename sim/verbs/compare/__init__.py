"""Two or more turbines, or any other choice, on the same engine, side by side."""
