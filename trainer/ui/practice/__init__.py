"""The controls, and free practice."""
