"""The few parts of a page that are ours alone: how they look and act in the browser."""
