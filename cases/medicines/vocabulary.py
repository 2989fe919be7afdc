"""The closed lists of words for medicines."""

KINDS = {
    "anaesthetic_local": "local anaesthetic",
    "sedative": "sedative",
    "antibiotic": "antibiotic",
    "anti_inflammatory": "anti-inflammatory",
    "hormone": "hormone",
    "other": "other",
}
ANIMAL_CLASSES = {
    "lactating": "in milk",
    "dry": "dry, mostly late in pregnancy",
    "heifer": "heifer, not yet calved",
    "calf": "calf, lamb or kid",
    "veal": "veal calf",
    "beef": "kept for meat only",
    "laying": "laying eggs",
}
FOOD_SPECIES = (
    "cattle", "sheep", "goat", "pig", "horse", "camelid",
    "poultry", "hen", "duck", "goose", "turkey", "rabbit", "deer", "fish",
)  # fmt: skip
COMMODITIES = ("milk", "meat", "eggs")
PERIOD_UNITS = ("hours", "days", "milkings", "degree_days")
JURISDICTIONS = ("EU", "GB", "US")

LABEL = ""
VERIFIED = "verified in stored public text"
SECONDARY = "verified in secondary text only"
MEMORY = "from memory, not verified"
NOT_FOUND = "not found"
MARKS = {
    LABEL: "read from the label",
    VERIFIED: VERIFIED,
    SECONDARY: SECONDARY,
    MEMORY: MEMORY,
    NOT_FOUND: "no figure was found",
}
NEED_CONFIRMING = (SECONDARY, MEMORY, NOT_FOUND)
"""Entries with these marks set no date before a vet has read the label and said so."""
COMMON_PRACTICE = "common practice, no source"
