"""Who may sign in to the demo. The passwords are public on purpose and belong to nothing else."""

SIGN_INS = [
    ("reception", "bettina", "lantern-reception", "Bettina Hollomarsh"),
    ("reception", "callum", "lantern-night", "Callum Dewsnape"),
    ("manager", "priya", "lantern-manager", "Priya Underlathe"),
    ("vet", "rhys", "lantern-rhys", "Rhys Tarnhollow (V5, first on call)"),
    ("vet", "marged", "lantern-marged", "Marged Ashmarrow (V1, second on call)"),
    ("vet", "anand", "lantern-anand", "Anand Quillbrook (V2, extra night cover)"),
    ("vet", "isla", "lantern-isla", "Isla Penderrick (V4, off tonight)"),
]
"""(role, username, password, name as printed), the three that a visitor wants first in each role."""
