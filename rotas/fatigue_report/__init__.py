"""The shift-fatigue report: what was worked, what rest was left, and what is coming, vet by vet.

Hours, not worth: it is for staffing, never for discipline, and nobody is ranked. `report_on` puts it
together once; every page and file shows the same figures. `rotas.services.fatigue_report` reads for it.
"""
