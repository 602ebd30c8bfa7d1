"""A desktop trainer for the mode logic of autopilots and flight directors."""
