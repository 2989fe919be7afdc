"""What is said beside the figures, the same on the page and on paper."""

CAUTION = (
    "It shows hours, not worth. It is for staffing and never for discipline; each vet sees their own "
    "first, and nobody is ranked. A report is no proof that somebody is fit, and a model is an estimate. "
    "“Too tired” from a vet stands without question, and nobody drives tired."
)
MODEL = (
    "The line is predicted sleepiness, from 1 (very alert) to 9 (fighting sleep): what a model expects of "
    "people in general with these duties. The band with dashed edges is how far its published forms and the "
    "assumptions about sleep lie apart. An estimate: it clears nobody."
)
LEGEND = (
    "No line: probably asleep. Below the line: outlined, day duty; hatched, on call; tall and filled, "
    "call-out; small and filled above, telephone; small and open below, the drive home. Wedge: a rest rule "
    "was broken. Shaded: 23:00 to 06:00."
)
LEGEND_BY_DAY = (
    "Over so long a period the line goes through the worst moment at work of each day. Below "
    "it: hours worked a day, to the full height for 16. Wedge: a rest rule was broken."
)
