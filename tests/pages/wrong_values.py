"""What nobody can have meant, by the kind of field, and text that is strange but may be meant."""

LONG = "x" * 5000
ARABIC = {ord(str(digit)): 0x660 + digit for digit in range(10)}
TEXTS = (
    "🐄🌧️ twins 👩‍👧",
    "الاولى يسارا \u202eevil\u202c",
    "<script>alert(1)</script>",
    "'; DROP TABLE x; --{{ 7*7 }}",
)
NO_FIGURE = ("-1", "1e3", "٣", "१२", "0x10", "1,000", "1.5.2", "NaN", "Infinity", str(10**30), "three", "½")
NO_WHOLE = ("2.5", "2,5")
NO_TIME = (
    "yesterday", "2026-03-14", "2026-02-30T10:00", "2026-03-14T25:00", "2026-03-14T20:00".translate(ARABIC),
    "0001-01-01T00:00", "9999-12-31T23:59", "9999-12-31T23:59-14:00", "0001-01-01T00:00+14:00",
    "20260314T200000", "-1", str(10**30), "2026-03-29T01:30",
)  # fmt: skip
NO_CHOICE = ("-1", "0", "٣", "1.0", str(10**15), str(10**30), "no such word", "' OR 1=1", LONG)
