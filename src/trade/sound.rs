//! Sounds of a working: samples as its firmware would send them out.

use std::fmt;
use std::sync::Arc;

use super::plan::Unworkable;

/// A sound of a working.
#[derive(Debug)]
pub struct Sound {
    /// Name in file names, which no other sound of the working has: `c5`.
    pub name: String,
    /// What is heard, in a few words.
    pub title: String,
    /// Names of inputs and results that it is rendered from.
    pub operands: Vec<String>,
    /// How it is rendered.
    pub rendering: Rendering,
}

/// Samples of one channel.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Samples {
    /// Samples a second.
    pub rate: u32,
    /// The samples; full scale is that of sixteen bits.
    pub samples: Vec<i16>,
}

type Render = dyn Fn(&[f64]) -> Result<Samples, Unworkable> + Send + Sync;

/// Finds the samples of a sound for values of its operands, in coherent SI
/// units.
#[derive(Clone)]
pub struct Rendering(Arc<Render>);

impl Rendering {
    /// A rendering by this rule.
    pub fn new(
        render: impl Fn(&[f64]) -> Result<Samples, Unworkable> + Send + Sync + 'static,
    ) -> Rendering {
        Rendering(Arc::new(render))
    }

    /// The samples for these values.
    ///
    /// # Errors
    /// Where there are none.
    pub fn render(&self, operands: &[f64]) -> Result<Samples, Unworkable> {
        (self.0)(operands)
    }
}

impl fmt::Debug for Rendering {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Rendering")
    }
}

impl Samples {
    /// The bytes of a WAV file: a header of 44 bytes, and the samples in pulse
    /// code modulation of sixteen bits, least byte first (Multimedia Programming
    /// Interface and Data Specifications 1.0, August 1991: the WAVE form).
    pub fn wav(&self) -> Vec<u8> {
        // Renderings are bounded to a few million samples, far below four
        // gigabytes.
        let data = u32::try_from(2 * self.samples.len()).unwrap_or(u32::MAX - 36);
        let mut bytes = Vec::with_capacity(44 + 2 * self.samples.len());
        bytes.extend(b"RIFF");
        bytes.extend((36 + data).to_le_bytes());
        bytes.extend(b"WAVEfmt ");
        bytes.extend(16u32.to_le_bytes());
        // Pulse code modulation, one channel.
        bytes.extend(1u16.to_le_bytes());
        bytes.extend(1u16.to_le_bytes());
        bytes.extend(self.rate.to_le_bytes());
        bytes.extend(self.rate.saturating_mul(2).to_le_bytes());
        // Bytes of a sample, and its bits.
        bytes.extend(2u16.to_le_bytes());
        bytes.extend(16u16.to_le_bytes());
        bytes.extend(b"data");
        bytes.extend(data.to_le_bytes());
        bytes.extend(self.samples.iter().flat_map(|sample| sample.to_le_bytes()));
        bytes
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Truth: what Python's own `wave` module writes for one channel of two
    /// bytes at 8000 a second and the samples 1, -1 (its documentation).
    #[test]
    fn a_wav_file_has_its_header() {
        let samples = Samples {
            rate: 8000,
            samples: vec![1, -1],
        };
        let expected = b"RIFF\x28\0\0\0WAVEfmt \x10\0\0\0\x01\0\x01\0\x40\x1f\0\0\x80\x3e\0\0\x02\0\x10\0data\x04\0\0\0\x01\0\xff\xff";
        assert_eq!(samples.wav(), expected);
    }
}
