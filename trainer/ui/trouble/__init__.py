"""When something goes wrong: reports, answers put aside, lessons that can no longer be read."""
