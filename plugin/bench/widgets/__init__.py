"""Parts that dock, pins and actions share."""
