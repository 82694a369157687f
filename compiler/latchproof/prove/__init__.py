"""Machine and claim to a verdict with a certificate or a replayed trace."""
