//! Positions of a switch whose poles change a set resistance.

/// What a pole that is on does with its resistor.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Wiring {
    /// Puts it in parallel to all others.
    Parallel,
    /// Shorts it, as one of a string in series.
    Series,
}

/// All positions of a switch, over the names of its resistors.
#[derive(Debug)]
pub(super) struct Positions<'a> {
    always: &'a str,
    poles: &'a [String],
    wiring: Wiring,
}

/// Which poles are on, the first one first.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Position(Vec<bool>);

impl Position {
    /// Name of what comes out in this position: `off_on`; `set` without poles.
    pub fn name(&self) -> String {
        self.joined("_").unwrap_or_else(|| "set".into())
    }

    /// What records and tables call it: `off on`; `set` without poles.
    pub fn label(&self) -> String {
        self.joined(" ").unwrap_or_else(|| "set".into())
    }

    fn joined(&self, between: &str) -> Option<String> {
        let words: Vec<&str> = self
            .0
            .iter()
            .map(|&on| if on { "on" } else { "off" })
            .collect();
        (!words.is_empty()).then(|| words.join(between))
    }
}

impl<'a> Positions<'a> {
    /// The positions of a switch: one resistor that is always in circuit, and
    /// one a pole.
    pub fn new(always: &'a str, poles: &'a [String], wiring: Wiring) -> Positions<'a> {
        Positions {
            always,
            poles,
            wiring,
        }
    }

    /// How many poles there are.
    pub fn poles(&self) -> usize {
        self.poles.len()
    }

    /// What a pole does.
    pub fn wiring(&self) -> Wiring {
        self.wiring
    }

    /// All positions, the first pole counting slowest; beyond `readable` poles
    /// those alone in which none, one or all are on.
    pub fn shown(&self, readable: usize) -> Vec<Position> {
        let poles = self.poles.len();
        if poles <= readable {
            let position = |number: u32| {
                // The first pole changes fastest: off off, on off, off on, on on.
                (0..poles).map(|pole| number >> pole & 1 == 1).collect()
            };
            return (0..1_u32 << poles)
                .map(|number| Position(position(number)))
                .collect();
        }
        let one = |on: usize| Position((0..poles).map(|pole| pole == on).collect());
        let mut shown = vec![self.slowest()];
        shown.extend((0..poles).map(one));
        shown.push(self.fastest());
        shown
    }

    /// The position of the highest set resistance.
    pub fn slowest(&self) -> Position {
        Position(vec![false; self.poles.len()])
    }

    /// The position of the lowest set resistance.
    pub fn fastest(&self) -> Position {
        Position(vec![true; self.poles.len()])
    }

    /// Formula of the set resistance in a position.
    pub fn resistance(&self, position: &Position) -> String {
        let counts = |on: bool| match self.wiring {
            Wiring::Parallel => on,
            Wiring::Series => !on,
        };
        let mut parts = vec![self.always];
        let poles = self.poles.iter().zip(&position.0);
        parts.extend(
            poles
                .filter(|(_, on)| counts(**on))
                .map(|(pole, _)| pole.as_str()),
        );
        match (parts.as_slice(), self.wiring) {
            ([only], _) => (*only).to_owned(),
            (parts, Wiring::Parallel) => format!("parallel({})", parts.join(", ")),
            (parts, Wiring::Series) => format!("({})", parts.join(" + ")),
        }
    }
}
