"""The command line: one command per step of the job, readable tables for people and JSON for scripts.

Commands parse what was typed, call the rooms below and print; they hold no rule of the trade.
"""
