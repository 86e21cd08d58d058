"""The Processing provider: read layers, convert, call the science, write layers."""
