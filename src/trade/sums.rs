//! Sums and greatest values over lists that may be longer than a formula.

use super::plan::Planned;

/// Most terms of one formula: what a line of a derivation can be read with.
const MOST_TERMS: usize = 16;

/// How terms are put together.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Together {
    Sum,
    Greatest,
}

/// Plans a result over terms, in steps where there are many. There has to be
/// one term at least.
pub(super) fn together(
    results: &mut Vec<Planned>,
    how: Together,
    (name, means): (&str, &str),
    terms: &[String],
    source: &'static str,
) {
    let mut terms = terms.to_vec();
    let mut step = 0;
    while terms.len() > MOST_TERMS {
        let mut fewer = Vec::new();
        for chunk in terms.chunks(MOST_TERMS) {
            step += 1;
            let part = format!("{name}.part_{step}");
            let means = format!("{means}, part {step}");
            results.push(Planned::formula(&part, means, how.of(chunk), source));
            fewer.push(part);
        }
        terms = fewer;
    }
    results.push(Planned::formula(name, means, how.of(&terms), source));
}

impl Together {
    fn of(self, terms: &[String]) -> String {
        match (self, terms) {
            (_, [only]) => only.clone(),
            (Together::Sum, terms) => terms.join(" + "),
            (Together::Greatest, terms) => format!("max({})", terms.join(", ")),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::How;

    #[test]
    fn a_long_sum_is_built_in_steps() {
        let terms: Vec<String> = (0..300).map(|at| format!("x_{at}")).collect();
        let mut results = Vec::new();
        together(
            &mut results,
            Together::Sum,
            ("sum", "Sum"),
            &terms,
            "arithmetic",
        );
        // 300 terms are 19 sums, these are 2, and they are 1.
        assert_eq!(results.len(), 19 + 2 + 1);
        assert_eq!(results[21].name, "sum");
        let How::Formula(text) = &results[21].how else {
            panic!("a sum is a formula");
        };
        assert_eq!(text, "sum.part_20 + sum.part_21");
    }
}
