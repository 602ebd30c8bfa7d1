"""Views of the flight and of the logic."""
