//! Topics whose relations an engineer writes as formulas of a notebook.

use crate::case::{self, Counts};
use crate::{named_results, sheet};

macro_rules! topic {
    ($test:ident, $name:literal, $cases:path, run: $run:literal, left out: $left_out:literal) => {
        #[test]
        fn $test() {
            let cases = $cases(include_str!(concat!($name, ".toml")));
            let counts = sheet::run($name, &cases, include_str!(concat!($name, ".sheet.toml")));
            // Written down, so that a case that drops out is noticed.
            let expected = Counts {
                run: $run,
                left_out: $left_out,
            };
            assert_eq!(counts, expected);
        }
    };
}

topic!(pitch, "04_pitch", case::cases, run: 172, left out: 55);
topic!(converters, "05_converters", case::cases, run: 63, left out: 0);
topic!(loudspeakers, "06_loudspeakers", case::cases, run: 187, left out: 0);
topic!(charging, "07_charging", case::cases, run: 56, left out: 4);
topic!(battery_life, "08_battery_life", case::cases, run: 40, left out: 0);
topic!(key_matrices, "10_key_matrices", case::cases, run: 41, left out: 16);
topic!(board_level, "11_board_level", case::cases, run: 113, left out: 15);
topic!(production_test, "13_test", named_results::cases, run: 65, left out: 78);
