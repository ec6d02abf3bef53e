"""The step-up card: pulls from mild to target, with what the gauges should read and when to lift."""
