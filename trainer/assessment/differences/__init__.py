"""What differs between two ships: found, told, taught and checked."""
