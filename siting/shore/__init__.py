"""Shorelines as lines: joined to chains, walked at true metres, told which side is water."""
