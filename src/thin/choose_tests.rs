//! The search for the largest set of parts that can go, held against trying every
//! set.

use super::*;

/// Swaps as `(from, board, to)`, each of which saves one.
fn choice(swaps: &[(usize, usize, usize)], clashes: &[&[usize]]) -> Choice {
    let swap = |&(from, board, to): &(usize, usize, usize)| Swap {
        from,
        board,
        to,
        saves: 1.0,
    };
    Choice {
        swaps: swaps.iter().map(swap).collect(),
        clashes: clashes.iter().map(|clash| clash.to_vec()).collect(),
    }
}

/// Every set of swaps, tried one by one.
fn by_trying(choice: &Choice) -> usize {
    let mut most = 0;
    for set in 0u32..1 << choice.swaps.len() {
        let made: Vec<usize> = (0..choice.swaps.len())
            .filter(|at| set >> at & 1 == 1)
            .collect();
        let swap = |at: &usize| &choice.swaps[*at];
        let goes: std::collections::BTreeSet<usize> = made.iter().map(|at| swap(at).from).collect();
        let stay = made.iter().all(|at| !goes.contains(&swap(at).to));
        // One swap for each board of each part that goes.
        let whole = goes.iter().all(|part| {
            let mut boards: BTreeMap<usize, usize> = BTreeMap::new();
            for known in choice.swaps.iter().filter(|swap| swap.from == *part) {
                boards.entry(known.board).or_insert(0);
            }
            for at in made.iter().filter(|at| swap(at).from == *part) {
                *boards.entry(swap(at).board).or_insert(0) += 1;
            }
            boards.values().all(|count| *count == 1)
        });
        let clash = choice
            .clashes
            .iter()
            .any(|clash| clash.iter().all(|at| made.contains(at)));
        if stay && whole && !clash {
            most = most.max(goes.len());
        }
    }
    most
}

#[test]
fn a_part_that_takes_places_stays() {
    // Each of three may stand for each other: two go.
    let all = [
        (0, 0, 1),
        (0, 0, 2),
        (1, 1, 0),
        (1, 1, 2),
        (2, 2, 0),
        (2, 2, 1),
    ];
    let best = choice(&all, &[]).best();
    assert_eq!((best.dropped, best.at_most), (2, 2));
    // In a chain the one in the middle cannot both go and stay.
    assert_eq!(choice(&[(0, 0, 1), (1, 1, 2)], &[]).best().dropped, 1);
}

#[test]
fn a_part_goes_from_all_of_its_boards_or_from_none() {
    // On board 1 only part 2 may stand in, and it goes nowhere itself.
    let best = choice(&[(0, 0, 1), (0, 1, 2)], &[]).best();
    assert_eq!(best.swaps, [0, 1]);
    // A clash between the two keeps it.
    assert_eq!(
        choice(&[(0, 0, 1), (0, 1, 2)], &[&[0, 1]]).best().dropped,
        0
    );
}

#[test]
fn among_sets_of_one_size_the_one_that_saves_most_is_taken() {
    let mut cheap = choice(&[(0, 0, 1), (1, 1, 0)], &[]);
    cheap.swaps[1].saves = 2.0;
    assert_eq!(cheap.best().swaps, [1]);
    cheap.swaps[0].saves = 3.0;
    assert_eq!(cheap.best().swaps, [0]);
}

#[test]
fn the_search_finds_what_trying_every_set_finds() {
    // A generator of Lehmer's kind; what it makes is the same each time.
    let mut state = 12_345u64;
    let mut draw = move |below: usize| {
        state = state * 48_271 % 2_147_483_647;
        (state % below as u64) as usize
    };
    for _ in 0..300 {
        let parts = 3 + draw(4);
        let mut swaps = Vec::new();
        for _ in 0..4 + draw(8) {
            let (from, to) = (draw(parts), draw(parts));
            let swap = (from, 10 * from + draw(2), to);
            if from != to && !swaps.contains(&swap) {
                swaps.push(swap);
            }
        }
        let mut clashes = Vec::new();
        for _ in 0..draw(4) {
            if swaps.len() > 1 {
                let mut clash = vec![draw(swaps.len()), draw(swaps.len())];
                clash.sort_unstable();
                clash.dedup();
                clashes.push(clash);
            }
        }
        let clashes: Vec<&[usize]> = clashes.iter().map(Vec::as_slice).collect();
        let choice = choice(&swaps, &clashes);
        let best = choice.best();
        assert_eq!(best.dropped, by_trying(&choice), "{choice:?}");
        assert_eq!(best.at_most, best.dropped);
    }
}

#[test]
fn a_group_too_large_to_search_comes_with_a_bound_that_holds() {
    // Sixty parts in a ring, each of which its two neighbours may stand in for:
    // of three neighbours one stays, so that forty go and no more.
    let ring: Vec<(usize, usize, usize)> = (0..60)
        .flat_map(|at| [(at, at, (at + 1) % 60), (at, at, (at + 59) % 60)])
        .collect();
    let best = choice(&ring, &[]).best();
    assert!(best.dropped <= 40 && best.dropped >= 30, "{}", best.dropped);
    assert!(best.at_most >= 40, "{}", best.at_most);
}
