"""Local search over whole schedules, compiled: simulated annealing with an exact evaluation of every move.

Only workers and commands import what is inside; `warm.warm()` compiles or loads it.
"""
