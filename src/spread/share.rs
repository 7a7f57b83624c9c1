//! Which input makes how much of a spread.

use super::{Gradient, Input, Response};

/// What one input contributes to the spread of a response.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Share {
    /// Number of the input.
    pub input: usize,
    /// How much the response changes with the input, per unit, at the nominal
    /// values.
    pub sensitivity: f64,
    /// How far the input alone moves the response from its nominal value.
    pub reach: f64,
    /// Part of the sum of all reaches, 0 to 1.
    pub share: f64,
}

/// Part of the sum below which a reach is the noise of floats.
const LEAST: f64 = 1e-9;

/// The shares of all inputs that move the response, the largest first.
///
/// # Errors
/// Where the response has no value at the nominal inputs.
pub fn shares<R: Response>(response: &R, inputs: &[Input]) -> Result<Vec<Share>, R::Fault> {
    let seeds: Vec<Gradient<f64>> = inputs
        .iter()
        .enumerate()
        .map(|(at, input)| Gradient::input(input.nominal, at, inputs.len()))
        .collect();
    let gradient = response.at(&seeds)?;
    let mut shares: Vec<Share> = inputs
        .iter()
        .enumerate()
        .map(|(at, input)| {
            let sensitivity = gradient.partial(at);
            Share {
                input: at,
                sensitivity,
                reach: (sensitivity * input.reach()).abs(),
                share: 0.0,
            }
        })
        .collect();
    let whole: f64 = shares.iter().map(|share| share.reach).sum();
    shares.retain(|share| share.reach > LEAST * whole);
    for share in &mut shares {
        share.share = share.reach / whole;
    }
    shares.sort_by(|a, b| b.reach.total_cmp(&a.reach).then(a.input.cmp(&b.input)));
    Ok(shares)
}
