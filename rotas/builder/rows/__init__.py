"""Whole rows at a time: the best row of one person by dynamic programming, compiled by numba.

Nothing here is imported before a problem of the right shape (`shape.py`) asks for it, so that a process
that never looks for a roster never loads the compiler.
"""
