/* Written by `ohmbook emit`; what is changed here by hand is lost. */
/* From the notebook "Listening posts", boards: cell_charger revision B, charger_fixture revision A; state 7e226ea1a1c6. */
/* Currents of the charger, and what the fixture reads and lets pass */
#ifndef OHMBOOK_CHARGER_H
#define OHMBOOK_CHARGER_H

/* State of the notebook, for the log */
#define CHARGER_STATE "7e226ea1a1c6"

/* Charge current, both switch poles off, in µA; 184108 to 208327 */
#define CHARGE_SLOW_UA 196078

/* Charge current, first switch pole on, in µA; 278167 to 314387 */
#define CHARGE_MEDIUM_UA 296078

/* Charge current, second switch pole on, in µA; 368216 to 416653 */
#define CHARGE_BRISK_UA 392157

/* Charge current, both switch poles on, in µA; 462275 to 522714 */
#define CHARGE_FASTEST_UA 492157

/* Voltage of the stand-in cell at the fastest setting, in V; 3.44634 to 3.7793 */
#define STAND_IN_FASTEST_V 3.60901961

/* Converter reading at the fastest setting, in count; 568.044 to 655.287 */
#define READING_FASTEST 611

/* Trail module: supply voltage that it provides to boards, in V */
#define SUPPLY_V 3.3

/* Set resistor R1, board off, in count */
#define PRODUCTION_SET_ALONE_LOW 2030.72663
#define PRODUCTION_SET_ALONE_HIGH 2065.27024
#define PRODUCTION_SET_ALONE_LOW_COUNTS 2031
#define PRODUCTION_SET_ALONE_HIGH_COUNTS 2065

/* R2 of the charger, board off, in count */
#define PRODUCTION_SET_FIRST_LOW 1616.14362
#define PRODUCTION_SET_FIRST_HIGH 1647.68804
#define PRODUCTION_SET_FIRST_LOW_COUNTS 1617
#define PRODUCTION_SET_FIRST_HIGH_COUNTS 1647

/* R3 of the charger, board off, in count */
#define PRODUCTION_SET_SECOND_LOW 1350.60629
#define PRODUCTION_SET_SECOND_HIGH 1380.20112
#define PRODUCTION_SET_SECOND_LOW_COUNTS 1351
#define PRODUCTION_SET_SECOND_HIGH_COUNTS 1380

/* Charge current, slow, in mV */
#define PRODUCTION_SLOW_LOW 185.266939
#define PRODUCTION_SLOW_HIGH 207.40981
#define PRODUCTION_SLOW_LOW_COUNTS 230
#define PRODUCTION_SLOW_HIGH_COUNTS 257

/* Charge current, fastest, in mV */
#define PRODUCTION_FASTEST_LOW 462.652689
#define PRODUCTION_FASTEST_HIGH 522.940831
#define PRODUCTION_FASTEST_LOW_COUNTS 575
#define PRODUCTION_FASTEST_HIGH_COUNTS 649

#endif /* OHMBOOK_CHARGER_H */
