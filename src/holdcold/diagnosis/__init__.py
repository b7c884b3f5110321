"""Suspects from evidence: priors, belief, the next check and the reasons for each."""
