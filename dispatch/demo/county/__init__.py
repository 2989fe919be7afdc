"""The invented county: a seeded land, its roads and places, and the files made from them.

`python -m dispatch.demo.county` writes the three files in `dispatch/demo/data/` again, byte for
byte. The county lies in the open Celtic Sea, where there is no land, so that it can't be taken
for a real place; every name in it is made up.
"""
