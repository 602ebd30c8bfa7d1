"""Lessons: files, loading, running, and the computed answers to their prompts."""
