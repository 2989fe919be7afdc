"""The shift-fatigue report: what was worked, what rest was left, and what is coming, vet by vet.

Hours, not worth: it is for staffing, never for discipline, and nobody is ranked. `reading` asks the
database a fixed number of times; everything else is pure, and every page and file shows the same figures.
"""
