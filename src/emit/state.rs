//! The state of a notebook, as far as a file hangs on it.

use blake3::Hasher;

use super::number::{constant, float, whole};
use super::{Cells, Emitted};

/// Hexadecimal digits that are written of the hash: 48 bits tell the states of
/// one notebook apart, and go on one line of a fixture's log.
const DIGITS: usize = 12;

impl Emitted {
    /// The state that the file is from: the first digits of a BLAKE3 hash over
    /// every value in it and everything given that they hang on, at full
    /// precision. Words that describe are no part of it, so rewording leaves it
    /// as it is; fitting a part of another value does not.
    ///
    /// Computed values go in as they are written, since the last bit of a result
    /// may differ from one processor to the next.
    pub fn state(&self) -> String {
        let mut hasher = Hasher::new();
        let mut put = |text: &str| {
            // The length first, so that no two lists of texts look alike.
            hasher.update(&(text.len() as u64).to_le_bytes());
            hasher.update(text.as_bytes());
        };
        for it in &self.constants {
            put("constant");
            put(&it.name);
            put(&constant(it.value, it.is_whole));
            put(&float(it.low));
            put(&float(it.high));
            put(&it.unit);
        }
        for table in &self.tables {
            put("table");
            put(&table.name);
            for column in &table.columns {
                put("column");
                put(&column.unit);
                match &column.cells {
                    Cells::Numbers(numbers) => numbers.iter().for_each(|it| put(&float(*it))),
                    Cells::Whole(numbers) => numbers.iter().for_each(|it| put(&whole(*it))),
                    Cells::Words(words) => words.iter().for_each(|word| put(word)),
                }
            }
        }
        for limit in &self.limits {
            put("limit");
            put(&limit.name);
            put(&limit.unit);
            limit.parts().for_each(|(_, number, _)| put(&float(number)));
        }
        for (name, values) in &self.inputs {
            put("input");
            put(name);
            values.iter().for_each(|value| put(&value.to_string()));
        }
        hasher.finalize().to_hex()[..DIGITS].to_owned()
    }
}
