//! What an amplifier gives a speaker, what it takes from its supply, and how
//! loud that is.

use super::kind::{Hazard, Input, Inputs, Kind, Refusal, Takes, input, optional, takes};
use super::plan::{Holding, Plan, Planned, Procedure, Unworkable};
use crate::quantity::Dimension;

pub(super) static KIND: AmplifierPower = AmplifierPower;

/// The kind `amplifier-power`.
#[derive(Debug)]
pub(super) struct AmplifierPower;

/// Guidance on exposure to loud sound.
pub(super) const GUIDANCE: &str = "Hearing: the usual guidance allows 85 dB for eight hours a day and half the time \
     for every 3 dB more (NIOSH Publication 98-126, 1998, A-weighted; from memory). For the \
     public and for children lower levels are advised. Local rules come first.";

const TEXTBOOK: &str = "textbook";
const CLASS_B: &str = "common practice: ideal class B, sine";
const EXPOSURE: &str =
    "NIOSH Publication 98-126 (1998), 85 dB and 3 dB exchange rate (from memory)";

const INPUTS: &[Input] = &[
    takes(
        "output",
        "How the speaker is driven",
        Takes::Word(&["single-ended", "bridge"]),
    ),
    input("supply", "Supply voltage", Dimension::VOLTAGE).above_zero(),
    input("load", "Impedance of the speaker", Dimension::RESISTANCE).above_zero(),
    optional(
        "drop",
        "Voltage that each output loses towards its rail",
        Dimension::VOLTAGE,
    )
    .not_negative(),
    optional(
        "efficiency",
        "Efficiency of a switching amplifier; without it, it is a class B one",
        Dimension::ONE,
    )
    .above_zero(),
    optional(
        "quiescent",
        "Current that the amplifier takes in silence",
        Dimension::CURRENT,
    )
    .not_negative(),
    optional(
        "source_current",
        "Current that the cell or rail can give",
        Dimension::CURRENT,
    ),
    optional(
        "rating",
        "Power that the speaker may take",
        Dimension::POWER,
    ),
    optional(
        "share",
        "Average power of what is played as a share of that of a full sine",
        Dimension::ONE,
    )
    .not_negative(),
    optional(
        "sensitivity",
        "Level of the speaker at 1 m for 1 W",
        Dimension::DECIBEL,
    ),
    optional("distance", "Distance of the listener", Dimension::LENGTH).above_zero(),
    optional("nearest", "Distance of the nearest ear", Dimension::LENGTH).above_zero(),
];

impl Kind for AmplifierPower {
    fn name(&self) -> &'static str {
        "amplifier-power"
    }

    fn title(&self) -> &'static str {
        "Power of an amplifier"
    }

    fn inputs(&self) -> &'static [Input] {
        INPUTS
    }

    fn hazards(&self) -> &'static [Hazard] {
        &[Hazard::LoudSound]
    }

    fn plan(&self, given: &Inputs) -> Result<Plan, Vec<Refusal>> {
        for lacks in ["distance", "nearest"] {
            if given.has(lacks) && !given.has("sensitivity") {
                return Err(vec![Refusal::new(
                    lacks,
                    format!("the level at `{lacks}` needs the speaker's `sensitivity`"),
                    format!("add `sensitivity`, or leave `{lacks}` out"),
                )]);
            }
        }
        let bridge = given.word("output") == Some("bridge");
        let mut plan = Plan::default();
        power(given, bridge, &mut plan.results);
        supply(given, bridge, &mut plan.results);
        loudness(given, &mut plan.results);
        if given.has("rating") {
            plan.holds.push(Holding::new(
                "power <= rating",
                "The speaker may be driven to clipping",
            ));
        }
        if given.has("source_current") {
            plan.holds.push(Holding::new(
                "supply_current <= source_current",
                "The cell or rail gives the current of a full sine",
            ));
        }
        plan.notes.push(
            "Power is that of a sine that just does not clip, into the stated impedance; a \
             speaker's impedance varies with frequency."
                .into(),
        );
        if given.has("sensitivity") {
            plan.notes.push(
                "Levels are those of a point source in free field, in the speaker's pass band; \
                 walls add to them."
                    .into(),
            );
        }
        plan.notes.push(GUIDANCE.into());
        Ok(plan)
    }
}

/// The sine just before clipping.
fn power(given: &Inputs, bridge: bool, results: &mut Vec<Planned>) {
    let mut operands = vec!["supply".to_owned()];
    if given.has("drop") {
        operands.push("drop".to_owned());
    }
    let parts = if bridge { 1.0 } else { 2.0 };
    let losses = if bridge { 2.0 } else { 1.0 };
    results.push(Planned::procedure(
        "swing",
        "Peak voltage at the speaker",
        Dimension::VOLTAGE,
        operands,
        Procedure::new(move |of| {
            let swing = of[0] / parts - losses * of.get(1).copied().unwrap_or(0.0);
            if swing > 0.0 {
                return Ok(swing);
            }
            Err(Unworkable::new(
                "is not above zero: the outputs lose all of the supply",
                "raise `supply`, or see to `drop`, which is that of one output",
            ))
        }),
        if bridge {
            "common practice: supply less the drop of both outputs"
        } else {
            "common practice: half the supply less the drop of the output"
        },
    ));
    results.push(Planned::formula(
        "power",
        "Power of a sine just before clipping",
        "swing^2 / (2 * load)",
        TEXTBOOK,
    ));
    results.push(Planned::formula(
        "peak_current",
        "Peak current in the speaker",
        "swing / load",
        "textbook: Ohm's law",
    ));
}

/// What it takes from its supply, and what of it becomes heat.
fn supply(given: &Inputs, bridge: bool, results: &mut Vec<Planned>) {
    let quiescent = if given.has("quiescent") {
        " + quiescent"
    } else {
        ""
    };
    let (current, source) = match (given.has("efficiency"), bridge) {
        (true, _) => ("power / (efficiency * supply)", "energy balance"),
        (false, true) => ("2 * swing / (pi * load)", CLASS_B),
        (false, false) => ("swing / (pi * load)", CLASS_B),
    };
    results.push(Planned::formula(
        "supply_current",
        "Mean current from the supply with a full sine",
        format!("{current}{quiescent}"),
        source,
    ));
    if given.has("share") {
        // The mean current of class B goes with the voltage, that is with the
        // root of the power.
        let playing = match given.has("efficiency") {
            true => format!("share * {current}"),
            false => format!("sqrt(share) * {current}"),
        };
        results.push(Planned::formula(
            "playing_current",
            "Mean current from the supply while it plays",
            format!("{playing}{quiescent}"),
            source,
        ));
    }
    let (heat, source) = match (given.has("efficiency"), bridge) {
        (true, _) => ("power * (1 / efficiency - 1)", "energy balance"),
        (false, true) => ("2 * supply^2 / (pi^2 * load)", CLASS_B),
        (false, false) => ("supply^2 / (2 * pi^2 * load)", CLASS_B),
    };
    results.push(Planned::formula(
        "dissipation",
        "Power that the amplifier turns into heat at worst",
        heat,
        source,
    ));
}

/// How loud it is, and how long an ear may hear that.
fn loudness(given: &Inputs, results: &mut Vec<Planned>) {
    if !given.has("sensitivity") {
        return;
    }
    results.push(Planned::formula(
        "level",
        "Level in the pass band, 1 m away",
        "0 dBSPL + sensitivity + power_level(power / 1 W)",
        TEXTBOOK,
    ));
    for (input, suffix, whom) in [
        ("distance", "at_listener", "the listener"),
        ("nearest", "at_nearest", "the nearest ear"),
    ] {
        if !given.has(input) {
            continue;
        }
        results.push(Planned::formula(
            format!("level_{suffix}"),
            format!("Level in the pass band at {whom}"),
            format!("level - field_level({input} / 1 m)"),
            "textbook: point source in free field",
        ));
        results.push(Planned::formula(
            format!("exposure_{suffix}"),
            format!("Time a day that the usual guidance allows {whom} for a full sine"),
            format!("min(24 h, 8 h * 2^((85 dBSPL - level_{suffix}) / 3 dB))"),
            EXPOSURE,
        ));
    }
}

#[cfg(test)]
mod tests {
    use super::super::check::{Given, near};
    use super::*;

    fn given(output: &str, supply: f64, drop: f64, load: f64) -> Given {
        let quantities = [("supply", supply), ("drop", drop), ("load", load)];
        Given::quantities(&quantities).word("output", output)
    }

    /// Truth: P = (Vs/2 - Vsat)²/(2R) single-ended, (Vs - 2 Vsat)²/(2R) bridged
    /// (common practice), computed outside for six amplifiers.
    #[test]
    fn powers_are_those_of_common_practice() {
        for (output, supply, drop, load, milliwatts) in [
            ("single-ended", 5.0, 0.0, 4.0, 781.25),
            ("single-ended", 12.0, 1.0, 4.0, 3125.0),
            ("single-ended", 3.3, 0.15, 8.0, 140.625),
            ("bridge", 5.0, 0.0, 8.0, 1562.5),
            ("bridge", 12.0, 1.0, 4.0, 12_500.0),
            ("bridge", 3.3, 0.15, 8.0, 562.5),
        ] {
            let given = given(output, supply, drop, load);
            near(given.result(&KIND, "power"), milliwatts * 1e-3, 1e-12);
        }
    }

    /// Truth: class B at worst, Vs²/(2 π² R) and 2 Vs²/(π² R) (textbook).
    #[test]
    fn heat_of_class_b_is_that_of_the_textbook() {
        let one = given("single-ended", 9.0, 0.5, 8.0);
        near(one.result(&KIND, "dissipation"), 0.512_938_492_2, 1e-9);
        let two = given("bridge", 9.0, 0.5, 8.0);
        near(two.result(&KIND, "dissipation"), 2.051_753_969, 1e-9);
    }

    /// Truth: L = S + 10 lg(P/W) - 20 lg(d/m) (textbook): 88 dB, 2 W, 3 m is
    /// 81.467875 dB; 79 dB, 1.5 W, 0.5 m is 86.781513 dB. And 85 dB is allowed
    /// for eight hours, 88 dB for four (NIOSH 98-126, from memory).
    #[test]
    fn levels_and_times_are_those_of_the_textbook_and_the_guidance() {
        let level = |sensitivity: f64, watts: f64, metres: f64| {
            let supply = (watts * 2.0 * 8.0).sqrt();
            let quantities = [
                ("supply", supply),
                ("load", 8.0),
                ("sensitivity", sensitivity),
                ("distance", metres),
            ];
            Given::quantities(&quantities)
                .word("output", "bridge")
                .work(&KIND)
        };
        near(
            level(88.0, 2.0, 3.0)["level_at_listener"],
            81.467_874_86,
            1e-9,
        );
        near(
            level(79.0, 1.5, 0.5)["level_at_listener"],
            86.781_512_5,
            1e-9,
        );
        near(
            level(85.0, 1.0, 1.0)["exposure_at_listener"],
            8.0 * 3600.0,
            1e-9,
        );
        near(
            level(88.0, 1.0, 1.0)["exposure_at_listener"],
            4.0 * 3600.0,
            1e-9,
        );
        near(
            level(40.0, 1.0, 1.0)["exposure_at_listener"],
            24.0 * 3600.0,
            1e-9,
        );
    }

    /// Truth: energy balance of class B, sine at full swing without drop: π/4 of
    /// what the supply gives reaches the load (textbook).
    #[test]
    fn class_b_is_at_most_as_efficient_as_the_textbook_says() {
        for output in ["single-ended", "bridge"] {
            let work = given(output, 6.0, 0.0, 8.0).work(&KIND);
            let efficiency = work["power"] / (6.0 * work["supply_current"]);
            near(efficiency, std::f64::consts::FRAC_PI_4, 1e-12);
        }
    }

    #[test]
    fn hangs_together_and_refuses_what_cannot_be() {
        let all = Given::quantities(&[
            ("supply", 3.7),
            ("load", 8.0),
            ("drop", 0.15),
            ("efficiency", 0.8),
            ("quiescent", 4e-3),
            ("source_current", 1.0),
            ("rating", 2.0),
            ("share", 0.125),
            ("sensitivity", 84.0),
            ("distance", 2.0),
            ("nearest", 0.1),
        ])
        .word("output", "bridge");
        all.hangs_together(&KIND);
        given("single-ended", 5.0, 0.1, 8.0).hangs_together(&KIND);
        let lost = given("single-ended", 1.0, 0.6, 8.0).work(&KIND);
        assert!(!lost.contains_key("power"), "no power without any swing");
        let far = Given::quantities(&[("supply", 5.0), ("load", 8.0), ("distance", 1.0)]);
        assert_eq!(far.word("output", "bridge").refusals(&KIND).len(), 1);
    }
}
