"""The sentences that several tests look for: a better word changes here and in test_sentences.py, nowhere else."""

REST_NOT_READ = "No reading with the weights at rest: a wrong base timing would look like wear."
STICKING_NOT_JUDGED = (
    "Revs rising and falling were not both read at two speeds: sticking on the way back is not judged."
)
PLAY_NOT_JUDGED = "No speed was read twice the same way: play of shaft and drive is not judged."
FULL_NOT_READ = "Full advance was not read."


def full_not_read(rpm):
    return f"No reading at full advance, near {rpm} rpm: not known whether it is reached."
