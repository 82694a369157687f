"""Machine and inputs to a trace, exactly."""
