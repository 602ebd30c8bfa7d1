"""A running session: clock, signals, events, annunciation, trace, fork."""
