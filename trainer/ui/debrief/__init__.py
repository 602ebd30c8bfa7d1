"""After the flight: timeline, plots, attempts."""
