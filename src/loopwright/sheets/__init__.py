"""What goes on paper or into a file that a person keeps. It formats; it computes nothing."""
