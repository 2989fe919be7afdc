"""What a dose comes to, what it must not exceed, and what a label and a formulary may say.

Pure: no database, no clock, no framework. The label in the hand and the attending vet decide; every
figure carries its source and how well it is known.
"""
