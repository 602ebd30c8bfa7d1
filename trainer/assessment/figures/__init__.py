"""Simulated members, and how well they are diagnosed and decided."""
