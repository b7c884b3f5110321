"""Answers: what every shell shows, worked out once and given as plain data; the phone asks here too."""
