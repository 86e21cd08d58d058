"""What stands up around a site: the skyline from elevation models and barriers."""
