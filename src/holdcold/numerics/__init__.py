"""The few solvers the phone needs; every result says whether it converged and why."""
