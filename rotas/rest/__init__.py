"""Rest: what was worked, against which rules, what is left tonight and what is owed afterwards.

Pure: no database, no clock, no framework. Hours are elapsed hours; intervals are half-open.
"""
