"""Writing lessons."""
