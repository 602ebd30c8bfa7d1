"""The window. Importing this package loads nothing of Qt; `start.main` does, when asked."""
