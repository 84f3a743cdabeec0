"""What is believed of the machine: prior, budget, Monte Carlo, worst case, over-constraint."""
