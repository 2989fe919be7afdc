"""The rota builder: who works which shift on which day, under hard rules and at the least cost.

Pure: no database, no clock, no framework. `roster` holds the shapes of a problem, `cost` counts a
roster without any solver, `solving` finds one.
"""
