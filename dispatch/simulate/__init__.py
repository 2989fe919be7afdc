"""A practice over many nights, simulated: what a way of sending vets would come to in a season.

Pure: no Django, no database, no clock. Every night is drawn from its own seed before anybody
decides anything, so that all ways of deciding face the same night (common random numbers).
"""
