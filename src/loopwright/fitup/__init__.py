"""What is done to the machine: what to set, which foils, what to grind, which bought part goes where."""
