"""What each needle shows through a pull in a gear or a dyno ramp, and the value at which to lift."""
