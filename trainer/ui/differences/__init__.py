"""Differences between ships."""
