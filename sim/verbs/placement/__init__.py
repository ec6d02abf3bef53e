"""Where exhaust probes and the pressure tap belong, and what each placement would miss."""
