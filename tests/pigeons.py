"""A gym's own picture for a fault, whatever the model makes of it."""

SAID = (
    "You keep feeding the pigeons and he hits you for it.",
    "You land the jab and then you're feeding the pigeons.",
    "Look at you, you're feeding pigeons in front of him.",
    "He hits you because you're feeding the pigeons.",
    "You're feeding the pigeons while he sets his feet.",
    "There, you're feeding the pigeons, and you eat the hook.",
    "You end up feeding the pigeons and it costs you.",
    "You're too busy feeding the pigeons there.",
)
NEW = "There you are feeding the pigeons while he walks in."
