"""The dock: forms, verdict and charts, put together."""
