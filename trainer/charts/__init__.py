"""The mode logic: chart files, installations, and the machine that runs them."""
