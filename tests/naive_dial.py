"""A lathe turned by hand on paper: open the nuts, run the screw, try every mark. Shares no code with gearsearch."""

from fractions import Fraction


def tried_marks(screw_pitch, screw_starts, teeth, marks, lead, screw_turns=1000):
    """For each mark that passes: its number, and whether the nuts close there with the tool in its groove.

    The nuts open at mark 1 with the tool in the groove. The carriage stands still from then on.
    """
    spindle_for_a_screw_turn = screw_pitch * screw_starts / lead
    teeth_for_a_screw_turn = screw_starts
    count = 0
    while True:
        count += 1
        teeth_passed = Fraction(count * teeth, marks)
        turned = teeth_passed / teeth_for_a_screw_turn
        if turned > screw_turns:
            return
        screw_thread_at_nut = turned * screw_pitch * screw_starts  # how far its threads have moved along
        nuts_close = (screw_thread_at_nut / screw_pitch).denominator == 1
        groove_at_tool = turned * spindle_for_a_screw_turn * lead  # how far the groove has moved along
        in_groove = (groove_at_tool / lead).denominator == 1
        yield count % marks + 1, nuts_close and in_groove


def returns(screw_pitch, lead, most=2000):
    """The distances, in threads of the lead screw, after which nuts and tool both find their threads."""
    return [threads for threads in range(1, most + 1) if (threads * screw_pitch / lead).denominator == 1]
