//! Words that a key may take, each with its meaning.

/// A word that a key may take.
#[derive(PartialEq, Eq, Debug)]
pub(crate) struct Word {
    /// As records write it.
    pub word: &'static str,
    /// What it means, in a sentence.
    pub means: &'static str,
}

/// Makes a type from the words that a key may take, so that the reader, the
/// schema and the type know the same ones.
macro_rules! words {
    ($(#[$about:meta])* $name:ident {
        $($(#[$mark:meta])* $variant:ident $word:literal $means:literal,)*
    }) => {
        $(#[$about])*
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
        pub enum $name {
            $(#[doc = $means] $(#[$mark])* $variant,)*
        }

        impl $name {
            /// Every one there is, in the order of the list.
            pub const ALL: &[$name] = &[$($name::$variant,)*];

            pub(crate) const WORDS: &[Word] = &[$(Word { word: $word, means: $means },)*];

            /// The word in records and on sheets.
            pub fn word(self) -> &'static str {
                match self { $($name::$variant => $word,)* }
            }

            /// The one that a word stands for.
            pub fn by_word(word: &str) -> Option<$name> {
                match word { $($word => Some($name::$variant),)* _ => None }
            }
        }
    };
}

words! {
    /// Who may read a record.
    #[derive(Default)]
    Audience {
        #[default]
        Customers "customers" "Customers, and everybody else.",
        Team "team" "The team and contributors only.",
    }
}

impl Audience {
    /// Whether what is meant for this audience is shown to a reader. The one
    /// place where that is settled: the team reads everything, customers what is
    /// meant for them.
    pub fn is_shown_to(self, reader: Audience) -> bool {
        reader == Audience::Team || self == Audience::Customers
    }
}

words! {
    /// Where a part stands in its life, as those who make it say.
    #[derive(Default)]
    LifeCycle {
        #[default]
        Active "active" "It is made, and new boards may take it.",
        NotForNew "not-for-new-designs" "It is made, and new boards should not take it.",
        LastBuy "last-buy" "It can be ordered for the last time.",
        Obsolete "obsolete" "It is no longer made.",
    }
}

words! {
    /// How a part gets onto the board.
    Placing {
        Feeder "feeder" "By machine, from a feeder of its own.",
        Tray "tray" "By machine, from a tray.",
        Hand "hand" "By hand.",
        Loose "loose" "Not at all: it is plugged in, or sold with the board.",
    }
}

words! {
    /// Form of a file for firmware.
    EmittedForm {
        C "c" "C header (C99, and C++).",
        Rust "rust" "Rust module.",
        Python "python" "Python without imports, for small interpreters too.",
        Csv "csv" "CSV (RFC 4180).",
        Json "json" "JSON (RFC 8259).",
    }
}

words! {
    /// How the tolerances of inputs go together.
    #[derive(Default)]
    SpreadPolicy {
        #[default]
        WorstCase "worst-case" "Every input may lie at either end of its tolerance at the same time.",
        RootSumSquare "root-sum-square" "What each input alone does is added as a root of the sum of squares.",
        MonteCarlo "monte-carlo" "Inputs are drawn by chance; the spread holds a stated share of all draws (JCGM 101).",
    }
}

words! {
    /// Which of the intervals with a stated share of all draws is taken.
    #[derive(Default)]
    CoverageInterval {
        #[default]
        Symmetric "symmetric" "As much lies below it as above it (JCGM 101:2008, 7.7.2).",
        Shortest "shortest" "The shortest one (JCGM 101:2008, 7.7.4).",
    }
}

words! {
    /// How values lie within their tolerance.
    #[derive(Default)]
    Scatter {
        #[default]
        Rectangular "rectangular" "Anywhere within the tolerance alike (JCGM 101:2008, 6.4.2).",
        Triangular "triangular" "Likeliest in the middle, never beyond the tolerance.",
        Normal "normal" "About the middle; the tolerance is so many standard deviations.",
        Sorted "sorted-normal" "Normal, with all beyond the tolerance sorted out.",
    }
}

words! {
    /// Where a board stands in its life.
    Status {
        Concept "concept" "An idea with numbers.",
        Prototype "prototype" "Built, not sold.",
        Production "production" "Made and sold.",
        Withdrawn "withdrawn" "No longer made.",
    }
}

words! {
    /// Signal words of ANSI Z535.6 and ISO 3864-2, worst first.
    Signal {
        Danger "DANGER" "Will kill or maim if it is not avoided.",
        Warning "WARNING" "Could kill or maim if it is not avoided.",
        Caution "CAUTION" "Could injure if it is not avoided.",
        Notice "NOTICE" "Could damage property, and injures nobody.",
    }
}

words! {
    /// What a caution is about.
    Hazard {
        LithiumCell "lithium-cell" "Lithium cells and their charging.",
        Heat "heat" "Hot parts.",
        MainsAdapter "mains-adapter" "Adapters fed from the mains.",
        LoudSound "loud-sound" "Sound that can harm hearing.",
        Soldering "soldering" "Hot irons and fumes.",
        General "general" "Anything else.",
    }
}

words! {
    /// How a board uses a contact, seen from the module.
    PinUse {
        Input "input" "The module reads a level that the board drives.",
        Output "output" "The module drives a level.",
        Analog "analog" "The module's converter reads a voltage.",
        Pulse "pulse" "A timer of the module makes pulses.",
        Interrupt "interrupt" "Open-drain outputs of several boards pull the line low.",
        Select "select" "The module selects a device on a serial bus.",
        SerialClock "serial-clock" "The module clocks a serial bus that boards share.",
        SerialOut "serial-out" "Data of a serial bus from the module to all boards.",
        SerialIn "serial-in" "Data of a serial bus to the module, from whichever board is selected.",
        Transmit "transmit" "The module sends to one board.",
        Receive "receive" "The module receives from one board.",
        BusClock "bus-clock" "Clock of a two-wire bus.",
        BusData "bus-data" "Data of a two-wire bus.",
    }
}

words! {
    /// How a board lies in a stack.
    #[derive(Default)]
    Mount {
        #[default]
        Through "through" "Its connector passes through: it plugs into what lies under it and carries what lies above.",
        Socket "socket" "Its connector faces up: it carries others and lies at the bottom.",
        Plug "plug" "Its connector faces down: it plugs into what lies under it and nothing fits on top.",
        Cable "cable" "It is wired up beside the stack.",
    }
}

words! {
    /// Mode of a two-wire bus.
    #[derive(Default)]
    BusMode {
        #[default]
        Standard "standard" "Up to 100 kbit/s.",
        Fast "fast" "Up to 400 kbit/s.",
        FastPlus "fast-plus" "Up to 1 Mbit/s.",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_and_what_it_stands_for_lead_to_each_other() {
        for status in Status::ALL {
            assert_eq!(Status::by_word(status.word()), Some(*status));
        }
        assert_eq!(Status::by_word("sold"), None);
        assert_eq!(Status::ALL.len(), Status::WORDS.len());
    }

    #[test]
    fn the_worst_signal_word_comes_first() {
        assert!(Signal::Danger < Signal::Warning && Signal::Warning < Signal::Caution);
    }
}
