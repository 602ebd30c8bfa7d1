"""The main window, its keys, pages about the program, and the work behind the paint path."""
