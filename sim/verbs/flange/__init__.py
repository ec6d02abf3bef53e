"""Does the turbine flange stay clamped when hot: torque, preload, conical washers."""
