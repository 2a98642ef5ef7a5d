"""A gym's own picture for a fault, whatever the model makes of it."""

SAID = (
    "You're feeding the pigeons there.",
    "You can't be feeding the pigeons when he's that close.",
    "He steps in because you're busy feeding the pigeons.",
    "There you are feeding the pigeons while he walks in.",
    "You're feeding the pigeons while he sets his feet.",
    "You're standing there feeding the pigeons for him.",
    "He hits you because you're feeding the pigeons.",
    "Look at you, you're feeding pigeons in front of him.",
)
NEW = "You throw the cross and then you feed the pigeons."
