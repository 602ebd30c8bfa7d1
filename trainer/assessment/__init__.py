"""Predictions, scoring and explanation."""
