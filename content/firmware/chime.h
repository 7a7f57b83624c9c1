/* Written by `ohmbook emit`; what is changed here by hand is lost. */
/* From the notebook "Listening posts", boards: stone_chime revision A; state 00d476474c2e. */
/* What the tone generator of the stone chime adds to its phase, note by note */
#ifndef OHMBOOK_CHIME_H
#define OHMBOOK_CHIME_H

/* State of the notebook, for the log */
#define CHIME_STATE "00d476474c2e"

/* Sample rate: two periods of the modulator for each sample, in Hz */
#define CHIME_SAMPLE_RATE_HZ 15625

/* Samples between two steps of the decay, each of which takes a 256th */
#define CHIME_DECAY_STEP 15

/* The five stones */
#define CHIME_NOTES_ROWS 5
/* Note */
static const char *const CHIME_NOTES_NOTE[CHIME_NOTES_ROWS] = {
    "C5",
    "D5",
    "E5",
    "G5",
    "A5",
};
/* Frequency, in Hz */
static const double CHIME_NOTES_FREQUENCY[CHIME_NOTES_ROWS] = {
    523.251131,
    587.329536,
    659.255114,
    783.990872,
    880.0,
};
/* Period, in ms */
static const double CHIME_NOTES_PERIOD[CHIME_NOTES_ROWS] = {
    1.91112822,
    1.70262168,
    1.51686347,
    1.27552505,
    1.13636364,
};
/* Pin of the key */
static const char *const CHIME_NOTES_PIN_OF_THE_KEY[CHIME_NOTES_ROWS] = {
    "J1-3",
    "J1-4",
    "J1-5",
    "J1-6",
    "J1-7",
};

/* The five stones: Phase accumulator of 16 bit */
#define CHIME_NOTES_2_ROWS 5
/* Note */
static const char *const CHIME_NOTES_2_NOTE[CHIME_NOTES_2_ROWS] = {
    "C5",
    "D5",
    "E5",
    "G5",
    "A5",
};
/* Increment */
static const long CHIME_NOTES_2_INCREMENT[CHIME_NOTES_2_ROWS] = {
    2195,
    2463,
    2765,
    3288,
    3691,
};
/* Really played, in Hz */
static const double CHIME_NOTES_2_REALLY_PLAYED[CHIME_NOTES_2_ROWS] = {
    523.328781,
    587.22496,
    659.227371,
    783.920288,
    880.002975,
};
/* Error, in cent */
static const double CHIME_NOTES_2_ERROR[CHIME_NOTES_2_ROWS] = {
    0.256896267,
    -0.308278042,
    -0.0728548941,
    -0.155872623,
    0.00585365415,
};
/* Harmonics below half the rate */
static const char *const CHIME_NOTES_2_HARMONICS_BELOW_HALF_THE_RATE[CHIME_NOTES_2_ROWS] = {
    "1 to 14",
    "1 to 13",
    "1 to 11",
    "1 to 9",
    "1 to 8",
};

/* The five stones: Timer that counts out periods */
#define CHIME_NOTES_3_ROWS 5
/* Note */
static const char *const CHIME_NOTES_3_NOTE[CHIME_NOTES_3_ROWS] = {
    "C5",
    "D5",
    "E5",
    "G5",
    "A5",
};
/* Divider */
static const long CHIME_NOTES_3_DIVIDER[CHIME_NOTES_3_ROWS] = {
    1911,
    1703,
    1517,
    1276,
    1136,
};
/* Really played, in Hz */
static const double CHIME_NOTES_3_REALLY_PLAYED[CHIME_NOTES_3_ROWS] = {
    523.286238,
    587.19906,
    659.195781,
    783.69906,
    880.28169,
};
/* Error, in cent */
static const double CHIME_NOTES_3_ERROR[CHIME_NOTES_3_ROWS] = {
    0.116151386,
    -0.384636655,
    -0.155817337,
    -0.644509558,
    0.554083554,
};

#endif /* OHMBOOK_CHIME_H */
