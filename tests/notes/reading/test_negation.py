"""What denial, supposition, the past and other people make of a remark.

The sorts of trigger are those of NegEx (Chapman et al. 2001, J Biomed Inform 34:301) and ConText (Harkema et al. 2009,
J Biomed Inform 42:839): before or after what they deny, false ones, ends of reach, hypothetical, historical,
experiencer. All sentences are invented for this trade; the wanted readings follow the reading guide. Where two ids are
fair they stand as "a|b".
"""

import pytest

from lexicon import Lexicon
from notes.model import Segment, Transcript
from notes.reading.observations import read_observations
from notes.sheet import Sheet

SHEET = Sheet.model_validate(
    {
        "sport": "mma",
        "coach": {"name": "Imre"},
        "athletes": [{"name": "Mara", "stance": "orthodox"}],
        "opponent": {"name": "Devon"},
    }
)
HAND = "hand-drops-on-strike|hands-low"

MISSED = [
    ("You didn't extend on that jab.", "short-extension", "'not' before a wanted act"),
    ("You never extend the jab.", "short-extension", "'never' before a wanted act"),
    ("You forgot to extend the jab.", "short-extension", "'forgot to' denies what follows"),
    ("You failed to extend the jab.", "short-extension", "'failed to' denies what follows"),
    ("You pawed at him instead of extending the jab.", "short-extension", "'instead of' denies what follows"),
    ("You punched without extending your arm.", "short-extension", "'without' before a wanted act"),
    ("I don't see any extension on that jab.", "short-extension", "'not see' denies what is looked for"),
    ("You refused to check the kick.", "not-checking", "'refused' is a kind of 'denies'"),
    ("Not once did you check the low kick.", "not-checking", "'not once' turns the word order round"),
    ("You still haven't checked a single low kick.", "not-checking", "'still' ends no reach of a 'not' after it"),
    ("No head movement.", "no-head-movement", "'no' before a wanted thing"),
    ("There's a complete lack of head movement.", "no-head-movement", "'lack of' before a wanted thing"),
    ("Your head movement just isn't there.", "no-head-movement", "'not there' stands behind what it denies"),
    ("Your head movement has gone.", "no-head-movement", "'gone' stands behind a wanted thing"),
    ("There was no sign of a jab before that kick.", "no-setup", "'no sign of' before a wanted thing"),
    ("You should have checked that low kick.", "not-checking", "a wish about a moment in view says it failed"),
    ("That would have landed if you had extended the jab.", "short-extension", "an unmet 'if' says it failed"),
]

UNWANTED = [
    ("Don't drop your right hand.", HAND, "a forbidden act is seen"),
    ("Stop dropping your right hand.", HAND, "'stop' before an unwanted act"),
    ("Stop leaning.", "leaning-back", "'stop' before an unwanted act"),
    ("You can't keep leaning back like that.", "leaning-back", "'cannot' forbids, and denies nothing"),
    ("You shouldn't be crossing your feet there.", "crossing-feet", "'should not' says it was done"),
    ("No more leaning back on the cross.", "leaning-back", "'no more' as an order says it was done"),
    ("No doubt about it, your chin is up.", "chin-up", "'no doubt' denies nothing"),
    ("No wonder he hits you, your hands are down.", "hands-low", "'no wonder' denies nothing"),
    ("No, you're leaning back.", "leaning-back", "'no' as an answer denies nothing that follows"),
    ("That's not good, you're leaning back on the cross.", "leaning-back", "'not' reaches the praise alone"),
    ("You're not leaning back, but your chin is up.", "chin-up", "'but' ends the reach of 'not'"),
    ("Your feet aren't crossed, however your chin is up.", "chin-up", "'however' ends the reach of 'not'"),
    ("You never stop dropping your right hand.", HAND, "'never' and 'stop' undo one another"),
]

GOOD = [
    ("Good, not dropping your right hand.", "denied and praised"),
    ("No telegraphing this time.", "'no' and a change"),
    ("You're no longer leaning back on the cross.", "'no longer' tells a change"),
    ("Your head isn't on the centreline any more.", "'not ... any more' tells a change"),
    ("That big wind-up on your cross is gone.", "'is gone' stands behind an unwanted thing"),
    ("You've stopped crossing your feet.", "'stopped' tells a change, and orders nothing"),
    ("Lovely hook without any wind-up.", "'without' an unwanted thing, and praised"),
    ("Not bad, that jab.", "'not bad' is praise"),
    ("Last month you were dropping that hand every time and now it stays home.", "history ended by 'now'"),
    ("You used to lean back on the cross, now your weight is over the front knee.", "history ended by 'now'"),
]

NOTHING = [
    ("I'm not saying your stance is bad.", "denied, not praised"),
    ("You're not leaning back.", "denied, not praised"),
    ("I don't think you dropped your hand there.", "'not think' denies what is thought"),
    ("It's not that your hands are low.", "'not that' denies the clause behind it"),
    ("There was no sign of you leaning back.", "'no sign of' denies what follows"),
    ("If you drop your right hand you get hit.", "'if' supposes"),
    ("You get hit if you drop your right hand.", "'if' supposes what stands behind it"),
    ("In case your hands drop, his hook is waiting for you.", "'in case' supposes"),
    ("He would catch you if your hands were down.", "'would' and 'if' suppose"),
    ("Should you drop your hand, he lands the hook.", "'should' before its subject supposes"),
    ("Last month you were dropping that hand every time.", "history"),
    ("You used to lean back on every cross.", "history"),
    ("In your last fight you never checked a low kick.", "history, and 'never' in it"),
    ("His guard is low, that's why your overhand lands.", "the opponent's"),
    ("Devon drops his right hand, you don't.", "the opponent's, and denied of the athlete"),
    ("Watch me, my hand is home.", "the coach's own"),
    ("The best boxers lean back there and get away with it.", "other people's"),
    ("My brother never kept his hands up.", "other people's, as a family's history"),
    ("No, you weren't hurt there.", "a denied sign"),
    ("You say it doesn't hurt.", "'denies' in a coach's words"),
]

SEVERAL = [
    (
        "Not only dropping your right hand when you jab, also no guard.",
        ["fault hand-drops-on-strike", "fault hands-low"],
        "'not only' denies nothing",
    ),
    (
        "Not just your chin up, you're leaning back as well.",
        ["fault chin-up", "fault leaning-back"],
        "'not just' denies nothing",
    ),
    (
        "You're not leaning back any more, but your right hand drops when you jab.",
        ["fault hand-drops-on-strike", "strength"],
        "'but' parts a change from a fault",
    ),
    (
        "You didn't extend the jab and your chin is up.",
        ["fault chin-up", "fault short-extension"],
        "'not' stays with its own verb",
    ),
    (
        "Beautiful jab, but you didn't check the low kick.",
        ["fault not-checking", "strength"],
        "praise stays before 'but'",
    ),
]


def read(text: str, vocabulary: Lexicon) -> list[str]:
    """What is logged of the athlete when a coach says `text`: "strength", "fault hands-low"."""
    transcript = Transcript((Segment(0, 5_000, text),), model="text")
    found = read_observations(transcript, SHEET, vocabulary)
    return [" ".join((o.kind, *o.faults)) for o in found if o.role == "athlete"]


def table(cases: list[tuple[object, ...]]) -> list[object]:
    """Cases whose last part, the word on why, becomes their name."""
    return [pytest.param(*case[:-1], id=f"{case[-1]}: {case[0]}") for case in cases]


@pytest.mark.parametrize(("text", "fault"), table(MISSED))
def test_a_wanted_act_that_is_denied_is_a_fault(vocabulary: Lexicon, text: str, fault: str) -> None:
    assert read(text, vocabulary) in [[f"fault {one}"] for one in fault.split("|")]


@pytest.mark.parametrize(("text", "fault"), table(UNWANTED))
def test_an_unwanted_act_that_is_not_denied_is_a_fault(vocabulary: Lexicon, text: str, fault: str) -> None:
    assert read(text, vocabulary) in [[f"fault {one}"] for one in fault.split("|")]


@pytest.mark.parametrize("text", table(GOOD))
def test_an_unwanted_act_denied_with_praise_or_a_change_is_a_strength(vocabulary: Lexicon, text: str) -> None:
    assert read(text, vocabulary) == ["strength"]


@pytest.mark.parametrize("text", table(NOTHING))
def test_what_is_denied_supposed_past_or_anothers_is_not_logged_of_the_athlete(vocabulary: Lexicon, text: str) -> None:
    assert read(text, vocabulary) == []


@pytest.mark.parametrize(("text", "wanted"), table(SEVERAL))
def test_a_denial_ends_where_its_clause_ends(vocabulary: Lexicon, text: str, wanted: list[str]) -> None:
    assert sorted(read(text, vocabulary)) == wanted
