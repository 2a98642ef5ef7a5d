"""Rules of thumb of the trade: common practice, no source.

They are check values: the shipped vocabulary must agree with every rule, and an everyday sentence that says a rule was
broken must be read as the rule has it. All sentences are invented.
"""

from dataclasses import dataclass

import pytest

from lexicon import Lexicon
from notes.model import Observation, Segment, Transcript
from notes.reading.observations import read_observations
from notes.sheet import Sheet

KICKS = {"low-kick", "inside-low-kick", "calf-kick", "body-kick", "head-kick", "switch-kick", "push-kick", "side-kick"}


@dataclass(frozen=True)
class Rule:
    """What the trade says of one mistake. `reason` holds the words that tell it; `any_kick`: true of whatever kick."""

    faults: str
    fixes: str
    techniques: str = ""
    reason: str = ""
    any_kick: bool = False


RULES = {
    "whoever is hit hits back in the same beat": Rule(
        "not-answering-back shelling-up", "answer-back", "counter combination", "keeps coming"
    ),
    "a kick from open range is hidden behind something": Rule(
        "no-setup", "set-it-up kick-on-counter", "low-kick body-kick head-kick push-kick", "seen caught walked through"
    ),
    "kick while they punch or just after": Rule("no-setup poor-timing", "kick-on-counter", "counter", any_kick=True),
    "the rear straight ends with the head over the front knee": Rule(
        "leaning-back", "weight-forward", "cross", "reach weight cover"
    ),
    "no weight past the base without a way out": Rule(
        "overcommitting", "exit-plan take-angle", "cross leaping-punch overhand entry", "stuck counter"
    ),
    "the head leaves the middle line as a straight punch goes": Rule(
        "head-on-centreline", "head-off-line", "cross jab leaping-punch", "straight counter"
    ),
    "a hand combination is closed with a low kick": Rule(
        "no-follow-up", "finish-with-kick follow-up", "combination low-kick", "reset free"
    ),
    "low attacks open the high one": Rule("predictable", "fake-low-go-high mix-up", "low-kick head-kick feint"),
    "the kicker expects the return": Rule(
        "not-expecting-counter slow-return", "expect-counter return-to-guard", "", "countered one leg", any_kick=True
    ),
    "the shoulder meets the chin on a straight punch": Rule(
        "chin-exposed chin-up", "tuck-chin extend-fully", "jab cross", "hook over top"
    ),
    "hands stay up until out of range": Rule("hands-low-on-exit", "hands-up-on-exit", "exit clinch", "caught relaxing"),
    "retreat at an angle": Rule("backing-straight-up", "take-angle", "footwork exit", "run over"),
    "move away from the power hand": Rule("circling-into-power", "circle-away", "footwork", "walked into"),
    "enter a takedown by the knees, head inside, behind a strike": Rule(
        "bending-at-waist head-position no-setup",
        "change-levels head-inside set-it-up",
        "single-leg double-leg level-change",
        "sprawled strangled",
    ),
    "a low kick is met and never just taken": Rule("not-checking", "check-kicks", "leg-check", "leg goes"),
}

SAID = {
    "whoever is hit hits back in the same beat": [
        ("He popped you with the jab and got no reply at all. Hit him straight back.", "not-answering-back", "answer-back"),
        ("You blocked both of those kicks and let her walk off without an answer.", "not-answering-back", ""),
        ("You covered up on the ropes and just stayed in your shell.", "shelling-up", ""),
    ],
    "a kick from open range is hidden behind something": [
        ("You threw that body kick with no punches before it.", "no-setup", ""),
        ("You threw the head kick cold from way outside. Feint the jab first to hide it.", "no-setup", "set-it-up"),
        ("There was nothing in front of your teep and she walked right through it.", "no-setup", ""),
    ],
    "kick while they punch or just after": [
        ("You threw the low kick with nothing in front of it. Kick while he's punching.", "no-setup", "kick-on-counter"),
        ("Your low kick was late. Kick just as he punches.", "poor-timing", "kick-on-counter"),
        ("Your timing is off on the body kick. Let him throw his hands, then kick.", "poor-timing", "kick-on-counter"),
    ],
    "the rear straight ends with the head over the front knee": [
        ("You're leaning back as you throw the cross.", "leaning-back", ""),
        ("All your weight is on the back foot on that right hand. Get it over the front knee.", "leaning-back", "weight-forward"),
        ("Your head finishes behind your front knee on the cross.", "leaning-back", ""),
    ],
    "no weight past the base without a way out": [
        ("You threw yourself into that overhand with no way out.", "overcommitting", ""),
        ("You're falling in behind the cross. Know your way out before you go in.", "overcommitting", "exit-plan"),
        ("You overcommitted on the superman punch. Step off at an angle when you land.", "overcommitting", "take-angle"),
    ],
    "the head leaves the middle line as a straight punch goes": [
        ("Your head stays on the middle line when you jab.", "head-on-centreline", ""),
        ("You threw the right hand with your head bang on the centreline. Take your head off the line.", "head-on-centreline", "head-off-line"),
        ("Your head never left the centre on that superman punch.", "head-on-centreline", ""),
    ],
    "a hand combination is closed with a low kick": [
        ("You threw the jab and the cross and then nothing. Finish it with the low kick.", "no-follow-up", "finish-with-kick"),
        ("You threw one jab and stopped. Put another punch behind it.", "no-follow-up", "follow-up"),
        ("You stop after the hook every time you throw it.", "no-follow-up", ""),
    ],
    "low attacks open the high one": [
        ("It's the same low kick from you every time. Fake low and go high.", "predictable", "fake-low-go-high"),
        ("You're too predictable, it's always the head kick. Mix it up.", "predictable", "mix-up"),
        ("You do the same thing over and over, high kick after high kick.", "predictable", ""),
    ],
    "the kicker expects the return": [
        ("You kick and you're not ready for anything to come back.", "not-expecting-counter", ""),
        ("You weren't expecting the counter after that low kick. Be ready to block.", "not-expecting-counter", "expect-counter"),
        ("You leave your leg out there after the body kick. Bring it straight back.", "slow-return", "return-to-guard"),
    ],
    "the shoulder meets the chin on a straight punch": [
        ("There's a gap between your chin and your shoulder when you jab.", "chin-exposed", ""),
        ("Your chin is up in the air on the cross. Tuck it down.", "chin-up", "tuck-chin"),
        ("Your shoulder isn't covering your chin on that right hand. Extend all the way.", "chin-exposed", "extend-fully"),
    ],
    "hands stay up until out of range": [
        ("You step out of range with your hands down.", "hands-low-on-exit", ""),
        ("You come out of the clinch and drop your hands. Keep them up on the way out.", "hands-low-on-exit", "hands-up-on-exit"),
        ("The exchange is over and you walk away with no guard.", "hands-low-on-exit", ""),
    ],
    "retreat at an angle": [
        ("You went straight back there, four or five steps.", "backing-straight-up", ""),
        ("He comes forward and you back straight up. Get off at an angle.", "backing-straight-up", "take-angle"),
        ("You keep retreating in a straight line.", "backing-straight-up", ""),
    ],
    "move away from the power hand": [
        ("You're circling right into his right hand.", "circling-into-power", ""),
        ("You moved towards his power side. Circle away from it.", "circling-into-power", "circle-away"),
        ("You keep stepping round into her big left hand.", "circling-into-power", ""),
    ],
    "enter a takedown by the knees, head inside, behind a strike": [
        ("You're bending at the waist to shoot. Bend your knees and keep your back straight.", "bending-at-waist", "change-levels"),
        ("Your head was on the outside on that single leg. Get your head inside.", "head-position", "head-inside"),
        ("You shot the double leg with nothing before it. Throw a jab first.", "no-setup", "set-it-up"),
    ],
    "a low kick is met and never just taken": [
        ("You just stood there and ate the low kick. Lift your shin.", "not-checking", "check-kicks"),
        ("You're not checking those leg kicks.", "not-checking", ""),
        ("He chopped at your leg four times and you never lifted it.", "not-checking", ""),
    ],
}  # fmt: skip

BROKEN = [(RULES[rule], *said) for rule, sayings in SAID.items() for said in sayings]


def read(text: str, vocabulary: Lexicon, stance: str = "orthodox") -> list[Observation]:
    """What is logged of the athlete when a coach says `text`."""
    sheet = Sheet.model_validate(
        {"sport": "mma", "athletes": [{"name": "Mara", "stance": stance}], "opponent": {"name": "Devon"}}
    )
    transcript = Transcript((Segment(0, 5_000, text),), model="text")
    return [o for o in read_observations(transcript, sheet, vocabulary) if o.role == "athlete"]


def joined(vocabulary: Lexicon, rule: Rule, key: str) -> set[str]:
    """The ids under one key of all the rule's faults."""
    return {one for fault in rule.faults.split() for one in getattr(vocabulary.entries[fault], key)}


@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
def test_every_fault_of_a_rule_is_one_of_the_vocabulary(vocabulary: Lexicon, rule: Rule) -> None:
    assert set(rule.faults.split()) <= {entry.id for entry in vocabulary.of_sort("fault")}


@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
def test_a_rule_is_mended_as_the_vocabulary_mends_its_faults(vocabulary: Lexicon, rule: Rule) -> None:
    assert set(rule.fixes.split()) <= joined(vocabulary, rule, "fixes")


@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
def test_the_techniques_of_a_rule_are_those_of_its_faults(vocabulary: Lexicon, rule: Rule) -> None:
    assert set(rule.techniques.split()) <= joined(vocabulary, rule, "techniques")


@pytest.mark.parametrize("rule", [r for r in RULES.values() if r.any_kick], ids=[n for n in RULES if RULES[n].any_kick])
def test_a_rule_about_any_kick_has_faults_about_kicks(vocabulary: Lexicon, rule: Rule) -> None:
    assert KICKS & joined(vocabulary, rule, "techniques")


@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
def test_the_reason_of_a_rule_is_the_reason_of_its_faults(vocabulary: Lexicon, rule: Rule) -> None:
    reasons = " ".join(vocabulary.entries[fault].why or "" for fault in rule.faults.split())

    assert [word for word in rule.reason.split() if word not in reasons] == []


@pytest.mark.parametrize(("rule", "text", "fault", "fix"), BROKEN, ids=[said[1] for said in BROKEN])
def test_a_broken_rule_is_logged_as_its_fault_alone(
    vocabulary: Lexicon, rule: Rule, text: str, fault: str, fix: str
) -> None:
    found = read(text, vocabulary)

    assert [(o.kind, o.faults) for o in found] == [("fault", (fault,))]


@pytest.mark.parametrize(
    ("text", "fix"), [said[1::2] for said in BROKEN if said[3]], ids=[said[1] for said in BROKEN if said[3]]
)
def test_the_fix_that_is_told_is_logged_with_a_fault(vocabulary: Lexicon, text: str, fix: str) -> None:
    found = read(text, vocabulary)

    assert fix in {one for o in found if o.kind == "fault" for one in o.fixes}


@pytest.mark.parametrize(("rule", "text"), [said[:2] for said in BROKEN], ids=[said[1] for said in BROKEN])
def test_no_fix_is_logged_that_the_rule_lacks(vocabulary: Lexicon, rule: Rule, text: str) -> None:
    found = read(text, vocabulary)

    assert {fix for o in found for fix in o.fixes} <= set(rule.fixes.split())


@pytest.mark.parametrize(
    ("text", "orthodox", "southpaw"),
    [
        ("Lovely left hook.", "lead-hook", "rear-hook"),
        ("Lovely right hook.", "rear-hook", "lead-hook"),
        ("That was a beautiful left uppercut.", "uppercut", "uppercut"),
        ("Great lead hook.", "lead-hook", "lead-hook"),
        ("Beautiful cross.", "cross", "cross"),
        ("Nice rear straight.", "cross", "cross"),
        ("Great straight right.", "cross", "jab"),
        ("Great straight left.", "jab", "cross"),
        ("Lovely jab.", "jab", "jab"),
        ("Beautiful one-two.", "combination", "combination"),
        ("That was a lovely number one.", "jab", "jab"),
        ("That was a lovely number two.", "cross", "cross"),
        ("That was a lovely number three.", "lead-hook", "lead-hook"),
        ("That was a lovely number four.", "rear-hook", "rear-hook"),
        ("That was a lovely number five.", "uppercut", "uppercut"),
        ("That was a lovely number six.", "uppercut", "uppercut"),
    ],
)
def test_the_stance_tells_which_hand_a_punch_is(vocabulary: Lexicon, text: str, orthodox: str, southpaw: str) -> None:
    by_stance = [[o.techniques for o in read(text, vocabulary, stance)] for stance in ("orthodox", "southpaw")]

    assert by_stance == [[(orthodox,)], [(southpaw,)]]
