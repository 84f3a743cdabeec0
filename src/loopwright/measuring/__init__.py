"""Gauges and their uncertainty; what raw readings say: straightness, squareness, lead and the like."""
