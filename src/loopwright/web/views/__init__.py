"""What the pages show: functions from a book, worked out, to markup. They run in the workroom, not in the server."""
