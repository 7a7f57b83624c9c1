//! Nodes and weights of Gauss's rules of integration.
//!
//! A rule with n nodes is exact for polynomials up to degree 2n - 1. Its nodes
//! are the roots of the n-th orthonormal polynomial of the weight, and they lie
//! between those of the polynomial before; weights are 1 over the sum of the
//! squares of all polynomials below (DLMF 3.5(v)). Weights add up to 1.

/// A place and its weight.
pub(super) type Node = (f64, f64);

/// For a uniform weight between -1 and 1 (Gauss-Legendre).
pub(super) fn uniform(count: usize) -> Vec<Node> {
    rule(count, 1.0, |k| k / (4.0 * k * k - 1.0).sqrt())
}

/// For the standard normal density (Gauss-Hermite).
pub(super) fn normal(count: usize) -> Vec<Node> {
    // The greatest root of the n-th polynomial is below 2 sqrt(n) (DLMF 18.16).
    rule(count, 2.0 * (count as f64).sqrt(), f64::sqrt)
}

/// A rule for a weight that is even, where `link` gives the coefficients of
/// the recurrence x p(k) = link(k+1) p(k+1) + link(k) p(k-1).
fn rule(count: usize, end: f64, link: impl Fn(f64) -> f64) -> Vec<Node> {
    let links: Vec<f64> = (0..=count).map(|k| link(k as f64)).collect();
    // The polynomial of a degree and the sum of the squares of those below it.
    let polynomial = |degree: usize, x: f64| {
        let (mut below, mut here, mut squares) = (0.0, 1.0, 0.0);
        for k in 0..degree {
            squares += here * here;
            let back = if k == 0 { 0.0 } else { links[k] * below };
            (below, here) = (here, (x * here - back) / links[k + 1]);
        }
        (here, squares)
    };
    let mut roots: Vec<f64> = Vec::new();
    for degree in 1..=count {
        let mut bounds = vec![-end];
        bounds.extend(&roots);
        bounds.push(end);
        roots = bounds
            .windows(2)
            .map(|pair| halve(pair[0], pair[1], |x| polynomial(degree, x).0))
            .collect();
    }
    roots
        .into_iter()
        .map(|x| (x, 1.0 / polynomial(count, x).1))
        .collect()
}

/// The one root between two bounds.
fn halve(mut low: f64, mut high: f64, value: impl Fn(f64) -> f64) -> f64 {
    let rises = value(high) > 0.0;
    loop {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            return middle;
        }
        let at = value(middle);
        if at == 0.0 {
            return middle;
        }
        if (at > 0.0) == rises {
            high = middle;
        } else {
            low = middle;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_are_those_of_the_weight() {
        for count in [1, 2, 5, 12, 32] {
            let highest = (2 * count - 1).min(12) as i32;
            let (mut flat, mut bell) = (1.0, 1.0);
            for power in (0..=highest).step_by(2) {
                let sum = |nodes: Vec<Node>| -> f64 {
                    nodes.iter().map(|(x, w)| w * x.powi(power)).sum()
                };
                if power > 0 {
                    flat = 1.0 / f64::from(power + 1);
                    bell *= f64::from(power - 1);
                }
                assert!((sum(uniform(count)) / flat - 1.0).abs() < 1e-13);
                let found = sum(normal(count)) / bell;
                assert!(
                    (found - 1.0).abs() < 1e-12,
                    "{count} nodes, x^{power}: {found}"
                );
            }
        }
    }
}
