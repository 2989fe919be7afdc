"""When milk, meat and eggs may be sold after a treatment.

Pure: no database, no clock, no framework. The label in the hand, local law and the attending
vet govern; whichever is strictest wins. A blank is never zero.
"""
