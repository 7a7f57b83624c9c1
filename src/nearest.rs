//! The known word nearest to one that is not known.

/// The known word nearest to `word`: the same but for case, or at most a third
/// of its letters apart by insertion, removal, change or swap of neighbours.
pub(crate) fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let limit = (word.chars().count() / 3).max(1);
    known
        .into_iter()
        .filter_map(|candidate| {
            let distance = if candidate.eq_ignore_ascii_case(word) {
                0
            } else {
                distance(word, candidate, limit)?
            };
            Some((distance, candidate))
        })
        .min()
        .map(|(_, candidate)| candidate)
}

/// Edit distance with swaps of neighbours (optimal string alignment), or
/// `None` where it exceeds `limit`.
fn distance(a: &str, b: &str, limit: usize) -> Option<usize> {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    if a.len().abs_diff(b.len()) > limit {
        return None;
    }
    let mut rows = vec![vec![0; b.len() + 1]; a.len() + 1];
    for (i, row) in rows.iter_mut().enumerate() {
        row[0] = i;
    }
    for (j, cell) in rows[0].iter_mut().enumerate() {
        *cell = j;
    }
    for i in 1..=a.len() {
        for j in 1..=b.len() {
            let change = rows[i - 1][j - 1] + usize::from(a[i - 1] != b[j - 1]);
            let mut best = change.min(rows[i - 1][j] + 1).min(rows[i][j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                best = best.min(rows[i - 2][j - 2] + 1);
            }
            rows[i][j] = best;
        }
    }
    Some(rows[a.len()][b.len()]).filter(|&distance| distance <= limit)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_finds_its_word_and_a_stranger_finds_none() {
        let known = ["resistor", "capacitor", "means", "given"];
        assert_eq!(nearest("resitor", known), Some("resistor"));
        assert_eq!(nearest("maens", known), Some("means"));
        assert_eq!(nearest("GIVEN", known), Some("given"));
        assert_eq!(nearest("amplifier", known), None);
    }
}
