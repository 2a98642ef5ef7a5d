"""The caution that stands beside every sign of a head knock, pain or illness. The tool never diagnoses."""

CAUTION = (
    "Someone who may have had a knock to the head stops at once and does not go back that day; tell a qualified "
    "person, and a parent or guardian where the athlete is a minor, and follow your sport's local rules. "
    "This log only repeats what the coach said; it is no medical judgement."
)
# In the words of the Concussion Recognition Tool 6 (Br J Sports Med 2023;57:692): "recognise and remove".
SOURCE = "Concussion Recognition Tool 6, Br J Sports Med 2023;57:692"
