"""The planner: open calls, vets and limits in; a ranked, checked plan with its reasons out.

Pure Python over whole minutes. Nothing here knows Django, a clock or a database; OR-Tools is
imported only while a problem is being solved.
"""
