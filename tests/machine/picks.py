"""What the rules draw: small numbers, so that acts meet the same items and players again and again."""

from hypothesis import strategies as st

WHICH = st.integers(0, 5)
WHO = st.integers(0, 3)
BY = st.integers(0, 1)
# Days: of a late record, of a hold to come, of a walk through the calendar.
LATE = st.sampled_from([0, 0, 0, 1, 3, 20])
AHEAD = st.sampled_from([0, 0, 1, 7, 60])
WALK = st.one_of(st.sampled_from([0, 1, 3, 7, 30, 60]), st.integers(0, 400))
# Months since it was made when it is taken in: new, about to lapse, lapsed, at the age limit, and not known.
AGE = st.sampled_from([7, 7, 7, 7, 7, 7, 23, 24, 60, 180, 191, 192, None])
# Of a list with what fits before the rest: what fits three times out of four.
FITTING = st.sampled_from([0, 0, 0, 0, 1, 1, 1, 2, 2, 3, 7, 12])
