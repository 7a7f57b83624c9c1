//! The known word that a misspelt one was likely meant to be.

/// Longer words are not compared: nobody misspells one of that length, and the
/// work grows with the square of it.
const LONGEST: usize = 64;

/// The known word that is nearest to what was written, if any is near.
///
/// Near means that one letter in three, but at least one, is wrong, missing,
/// too many or swapped with its neighbour. Letters that differ only in case
/// cost nothing. Of words equally near the first one is taken.
pub(crate) fn nearest<'a>(
    written: &str,
    known: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    let written = folded(written)?;
    let allowed = if written.len() < 2 {
        0
    } else {
        (written.len() / 3).max(1)
    };
    known
        .into_iter()
        .filter_map(|word| {
            let known = folded(word)?;
            // Each letter more or less is a step of its own.
            let close = known.len().abs_diff(written.len()) <= allowed;
            close.then(|| (distance(&written, &known), word))
        })
        .filter(|(distance, _)| *distance <= allowed)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, word)| word)
}

fn folded(word: &str) -> Option<Vec<char>> {
    let letters: Vec<char> = word
        .chars()
        .flat_map(char::to_lowercase)
        .take(LONGEST + 1)
        .collect();
    (letters.len() <= LONGEST).then_some(letters)
}

/// Number of letters to change, add, leave out or swap with their neighbour
/// (optimal string alignment).
fn distance(from: &[char], to: &[char]) -> usize {
    let mut before_last: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=to.len()).collect();
    for (i, &a) in from.iter().enumerate() {
        let mut row = vec![i + 1];
        for (j, &b) in to.iter().enumerate() {
            let change = last[j] + usize::from(a != b);
            let mut least = change.min(last[j + 1] + 1).min(row[j] + 1);
            let swapped = i > 0 && j > 0 && a == to[j - 1] && from[i - 1] == b;
            if swapped {
                least = least.min(before_last[j - 1] + 1);
            }
            row.push(least);
        }
        before_last = std::mem::replace(&mut last, row);
    }
    last[to.len()]
}

#[cfg(test)]
mod tests {
    use super::nearest;

    const KEYS: [&str; 5] = ["means", "given", "from", "says", "must"];

    #[test]
    fn a_slip_of_one_letter_is_seen() {
        assert_eq!(nearest("mean", KEYS), Some("means"));
        assert_eq!(nearest("form", KEYS), Some("from"));
        assert_eq!(nearest("Given", KEYS), Some("given"));
        assert_eq!(
            nearest("set-constant", ["set_constant"]),
            Some("set_constant")
        );
    }

    #[test]
    fn a_word_that_is_not_near_gets_no_suggestion() {
        assert_eq!(nearest("colour", KEYS), None);
        assert_eq!(nearest("x", ["a", "b"]), None);
        assert_eq!(nearest("", KEYS), None);
        assert_eq!(nearest(&"a".repeat(100_000), KEYS), None);
    }

    #[test]
    fn distances_are_those_counted_by_hand() {
        // Counted by hand.
        let distance = |a: &str, b: &str| {
            super::distance(
                &a.chars().collect::<Vec<_>>(),
                &b.chars().collect::<Vec<_>>(),
            )
        };
        assert_eq!(distance("", "abc"), 3);
        assert_eq!(distance("ohm", "ohm"), 0);
        assert_eq!(distance("caution", "auction"), 2);
        assert_eq!(distance("kitten", "sitting"), 3);
    }
}
