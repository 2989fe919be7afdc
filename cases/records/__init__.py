"""A farm's medicine record and its list of treated animals, as plain data. Pure.

What stands in them is what was written down. Label, local law and the attending vet govern.
"""
