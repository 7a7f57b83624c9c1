//! Contacts between lines, simulated: which keys read as held while some are.
//!
//! A key reads as held where current can flow between its two lines. Without
//! diodes closed contacts conduct both ways, and lines that they join are found
//! by union-find; a diode at each contact lets current through in one direction
//! only, and paths are followed from line to line. Diodes are taken as ideal: a
//! path through two of them conducts as well.
//!
//! Sets of keys are bits of a word, so a network has 64 keys at most. What is
//! true of larger ones is found in the part that so many keys can touch.

/// Keys between lines.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Contacts {
    lines: usize,
    /// The two lines of each key; current flows from the first to the second
    /// where there are diodes.
    keys: Vec<(usize, usize)>,
    diodes: bool,
}

impl Contacts {
    /// Most keys of a network.
    pub const MOST_KEYS: usize = 64;
    /// Most lines of a network: as many as so many keys can touch.
    pub const MOST_LINES: usize = 2 * Contacts::MOST_KEYS;

    /// Each key between a line of its own and a common one. That all sets are told
    /// apart then is tested and taken for granted.
    #[cfg(test)]
    pub fn direct(keys: usize) -> Contacts {
        Contacts::of(keys + 1, (0..keys).map(|key| (key + 1, 0)).collect(), false)
    }

    /// A key at each crossing of rows and columns.
    pub fn matrix(rows: usize, columns: usize, diodes: bool) -> Contacts {
        let keys = (0..rows).flat_map(|row| (0..columns).map(move |column| (row, rows + column)));
        Contacts::of(rows + columns, keys.collect(), diodes)
    }

    /// A key between any two lines: one for each direction with diodes, one for
    /// each pair without.
    pub fn charlieplexed(lines: usize, diodes: bool) -> Contacts {
        let pairs = (0..lines).flat_map(|from| (0..lines).map(move |to| (from, to)));
        let keys = pairs.filter(|(from, to)| if diodes { from != to } else { from < to });
        Contacts::of(lines, keys.collect(), diodes)
    }

    fn of(lines: usize, mut keys: Vec<(usize, usize)>, diodes: bool) -> Contacts {
        keys.truncate(Contacts::MOST_KEYS);
        Contacts {
            lines,
            keys,
            diodes,
        }
    }

    /// The same network with its first keys only.
    pub fn first(mut self, keys: usize) -> Contacts {
        self.keys.truncate(keys);
        self
    }

    /// How many keys there are.
    pub fn len(&self) -> usize {
        self.keys.len()
    }

    /// The keys that read as held while those of a set are.
    pub fn reading(&self, held: u64) -> u64 {
        match self.diodes {
            true => self.one_way(held),
            false => self.both_ways(held),
        }
    }

    /// By union-find: lines of one component are joined.
    fn both_ways(&self, held: u64) -> u64 {
        let mut parent: [u8; Contacts::MOST_LINES] = std::array::from_fn(|line| line as u8);
        for key in members(held.into()) {
            let (a, b) = self.keys[key];
            let (a, b) = (root(&mut parent, a), root(&mut parent, b));
            parent[a] = b as u8;
        }
        self.those(|(a, b)| root(&mut parent, a) == root(&mut parent, b))
    }

    /// By following the contacts from each line that a key starts at.
    fn one_way(&self, held: u64) -> u64 {
        let mut reached = [0u128; Contacts::MOST_LINES];
        for key in members(held.into()) {
            let (from, to) = self.keys[key];
            reached[from] |= 1 << to;
        }
        let direct = reached;
        for reached in &mut reached[..self.lines] {
            let mut open = *reached;
            while let Some(line) = members(open).next() {
                let new = direct[line] & !*reached;
                *reached |= new;
                open = open & !(1 << line) | new;
            }
        }
        self.those(|(from, to)| reached[from] & 1 << to != 0)
    }

    /// The keys of whose lines something is true.
    fn those(&self, mut is: impl FnMut((usize, usize)) -> bool) -> u64 {
        let keys = self.keys.iter().enumerate();
        keys.fold(0, |set, (key, &lines)| set | u64::from(is(lines)) << key)
    }

    /// Whether no other set of keys reads as this one does. More keys never read
    /// as fewer, so only the sets with one key less need to be tried.
    pub fn is_told_apart(&self, held: u64) -> bool {
        self.reading(held) == held
            && members(held.into()).all(|key| self.reading(held & !(1 << key)) != held)
    }

    /// How many sets of each size, from none held to all, are told apart from
    /// every other set, by reading each set once.
    pub fn told_apart_by_size(&self) -> Vec<u64> {
        let mut readings = vec![0u64; 1 << self.len()];
        for held in 1..readings.len() {
            let last = 1 << held.ilog2();
            let before = readings[held ^ last];
            // A key that reads as held joins nothing new when it is.
            readings[held] = match before & last as u64 != 0 {
                true => before,
                false => self.reading(held as u64),
            };
        }
        let mut times = vec![0u32; readings.len()];
        for &read in &readings {
            times[read as usize] += 1;
        }
        let mut told = vec![0; self.len() + 1];
        for (held, &read) in readings.iter().enumerate() {
            if read == held as u64 && times[held] == 1 {
                told[held.count_ones() as usize] += 1;
            }
        }
        told
    }

    /// How many of all sets of a size are told apart, and how many there are.
    pub fn of_size(&self, size: usize) -> (u64, u64) {
        let (mut told, mut all) = (0, 0);
        for held in sets_of(self.len(), size) {
            all += 1;
            told += u64::from(self.is_told_apart(held));
        }
        (told, all)
    }
}

fn root(parent: &mut [u8], line: usize) -> usize {
    let mut line = line;
    while usize::from(parent[line]) != line {
        // Halving the path keeps the next search short.
        parent[line] = parent[usize::from(parent[line])];
        line = parent[line].into();
    }
    line
}

/// Positions of the bits of a word.
fn members(set: u128) -> impl Iterator<Item = usize> {
    let mut left = set;
    std::iter::from_fn(move || {
        let at = left.trailing_zeros();
        left &= left.wrapping_sub(1);
        (at < u128::BITS).then_some(at as usize)
    })
}

/// All words with so many bits among the lowest ones, by rising value.
fn sets_of(keys: usize, size: usize) -> impl Iterator<Item = u64> {
    let mut next = match size {
        0 => Some(0),
        size if size > keys || size > 63 => None,
        size => Some((1u64 << size) - 1),
    };
    std::iter::from_fn(move || {
        let set = next?;
        // The next word with as many bits (a well-known identity of binary
        // arithmetic, from memory).
        let low = set & set.wrapping_neg();
        let risen = set.checked_add(low).filter(|_| set != 0);
        next = risen
            .map(|risen| (((risen ^ set) >> 2) / low) | risen)
            .filter(|set| keys == 64 || *set < 1u64 << keys);
        Some(set)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Keys of a matrix as `R1C2` names them.
    fn set(columns: usize, keys: &[(usize, usize)]) -> u64 {
        let bit = |(row, column): &(usize, usize)| 1 << ((row - 1) * columns + column - 1);
        keys.iter().map(bit).sum()
    }

    /// Truth: connectivity of the graph of rows and columns, by networkx.
    #[test]
    fn ghosts_are_those_that_a_graph_library_finds() {
        type Keys<'k> = &'k [(usize, usize)];
        let cases: [(usize, usize, Keys, Keys); 7] = [
            (2, 4, &[(1, 1), (2, 1), (1, 2)], &[(2, 2)]),
            (2, 4, &[(1, 1), (2, 2)], &[]),
            (3, 4, &[(1, 1), (1, 3), (3, 3)], &[(3, 1)]),
            (3, 3, &[(1, 1), (1, 2), (2, 2), (3, 2)], &[(2, 1), (3, 1)]),
            (3, 4, &[(1, 1), (1, 2), (1, 3)], &[]),
            (
                4,
                4,
                &[(1, 1), (2, 1), (2, 2), (3, 2), (3, 3)],
                &[(1, 2), (1, 3), (2, 3), (3, 1)],
            ),
            (2, 4, &[(1, 1), (1, 2), (2, 1), (2, 2)], &[]),
        ];
        for (rows, columns, held, ghosts) in cases {
            let (held, ghosts) = (set(columns, held), set(columns, ghosts));
            let bare = Contacts::matrix(rows, columns, false);
            assert_eq!(bare.reading(held), held | ghosts, "{rows} by {columns}");
            let with_diodes = Contacts::matrix(rows, columns, true);
            assert_eq!(with_diodes.reading(held), held, "diodes block the way back");
        }
    }

    /// Truth: worked by hand. Of the 16 sets of 2 by 2 keys the four of three keys
    /// and the one of four read alike; a single row, diodes and keys of their own
    /// leave nothing to mix up, so that all 2^n sets are told apart.
    #[test]
    fn counts_are_those_of_combinatorics() {
        let matrix = |rows, columns| Contacts::matrix(rows, columns, false);
        let told = |contacts: Contacts| contacts.told_apart_by_size();
        assert_eq!(told(matrix(2, 2)), [1, 4, 6, 0, 0]);
        assert_eq!(told(matrix(1, 5)), [1, 5, 10, 10, 5, 1]);
        assert_eq!(told(Contacts::matrix(2, 3, true)).iter().sum::<u64>(), 64);
        assert_eq!(told(Contacts::direct(5)).iter().sum::<u64>(), 32);
        // Three lines, a key for each pair: any two keys read as all three.
        assert_eq!(told(Contacts::charlieplexed(3, false)), [1, 3, 0, 0]);
    }

    /// Truth: brute force over all sets for each set.
    #[test]
    fn one_key_less_is_enough_to_try() {
        for contacts in [
            Contacts::matrix(2, 4, false),
            Contacts::matrix(3, 3, false),
            Contacts::charlieplexed(3, true),
            Contacts::charlieplexed(4, false),
        ] {
            let all = 0..1u64 << contacts.len();
            let alone = |held: &u64| {
                all.clone().all(|other| {
                    other == *held || contacts.reading(other) != contacts.reading(*held)
                }) && contacts.reading(*held) == *held
            };
            let brute = all.clone().filter(alone).count() as u64;
            let quick = all.clone().filter(|held| contacts.is_told_apart(*held));
            assert_eq!(quick.count() as u64, brute);
            let by_size = (0..=contacts.len()).map(|size| contacts.of_size(size).0);
            let by_size: Vec<u64> = by_size.collect();
            assert_eq!(by_size.iter().sum::<u64>(), brute);
            assert_eq!(contacts.told_apart_by_size(), by_size);
        }
    }

    /// Truth: binomial coefficients.
    #[test]
    fn sets_of_a_size_are_all_of_them() {
        assert_eq!(sets_of(64, 2).count(), 2016);
        assert_eq!(sets_of(9, 3).count(), 84);
        assert_eq!(sets_of(5, 5).count(), 1);
        assert_eq!(sets_of(3, 5).count(), 0);
        assert_eq!(sets_of(64, 1).count(), 64);
    }
}
