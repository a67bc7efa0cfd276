//! How large the largest of many related normal distances is by chance.
//!
//! Given standard normal z_1, ..., z_k, each correlated with the next and, given that one, with
//! no other (a Markov chain: sums that grow month by month give one), the probability that all
//! lie within ±c is found by carrying the density of those still within from one to the next:
//!
//! ```text
//! f_1(z) = phi(z),   f_(i+1)(y) = ∫ f_i(z) · phi((y - r_i·z)/s_i)/s_i dz  over ±c,   s_i² = 1 - r_i²
//! ```
//!
//! Source: Armitage P, McPherson CK, Rowe BC (1969) J R Stat Soc A 132:235-244, for repeated
//! looks at growing data, whose table the tests compare. Simpson's rule on an even grid; a step
//! of correlation so near 1 that the grid would have to be very fine is joined with the next
//! one, which leaves out a distance nearly equal to its neighbour.
//!
//! Degenerate cases: c of 0 gives 1; no correlations mean one distance; c that is not a number
//! gives 1. Answers too small for the quadrature (under 1e-7) are the sum of the single
//! probabilities, an upper bound.

use std::f64::consts::PI;

use statrs::function::erf::erfc;

/// Steps of a smaller conditional standard deviation are joined with the next.
const LEAST_DEVIATION: f64 = 0.05;

/// Intervals of the grid in the smallest conditional standard deviation.
const FINENESS: f64 = 4.0;

/// Probability that at least one of a chain of standard normal distances is `c` or more from 0.
///
/// ```
/// use siskin::statistics::control::largest_of_chain::largest_of_chain;
/// assert!((largest_of_chain(&[], 1.959_964) - 0.05).abs() < 1e-6);
/// // Two that have nothing to do with each other: 1 - 0.95².
/// assert!((largest_of_chain(&[0.0], 1.959_964) - 0.0975).abs() < 1e-6);
/// ```
pub fn largest_of_chain(correlations: &[f64], c: f64) -> f64 {
    if c.is_nan() || c <= 0.0 {
        return 1.0;
    }
    let single = erfc(c / std::f64::consts::SQRT_2);
    let bound = (single * (correlations.len() + 1) as f64).min(1.0);
    if bound < 1e-7 {
        return bound;
    }
    let steps = joined(correlations);
    let deviation = |r: f64| (1.0 - r * r).sqrt();
    let smallest = steps.iter().map(|r| deviation(*r)).fold(1.0, f64::min);
    // An even number of intervals, each a fraction of the smallest deviation.
    let half = (c * FINENESS / smallest).ceil().max(32.0) as usize;
    let width = c / half as f64;
    let points: Vec<f64> = (0..=2 * half).map(|i| i as f64 * width - c).collect();
    let weight = |i: usize| match i {
        _ if i == 0 || i == 2 * half => width / 3.0,
        _ if i % 2 == 1 => 4.0 * width / 3.0,
        _ => 2.0 * width / 3.0,
    };
    let phi = |z: f64| (-0.5 * z * z).exp() / (2.0 * PI).sqrt();
    let mut density: Vec<f64> = points.iter().map(|z| phi(*z)).collect();
    for r in steps {
        let s = deviation(r);
        let weighted: Vec<f64> = density.iter().enumerate().map(|(i, f)| f * weight(i)).collect();
        let carried = |y: &f64| {
            let from = weighted.iter().zip(&points);
            from.map(|(f, z)| f * phi((y - r * z) / s)).sum::<f64>() / s
        };
        density = points.iter().map(carried).collect();
    }
    let within: f64 = density.iter().enumerate().map(|(i, f)| f * weight(i)).sum();
    (1.0 - within).clamp(single, bound)
}

/// The correlations with those too near 1 multiplied into the next.
fn joined(correlations: &[f64]) -> Vec<f64> {
    let nearest = (1.0 - LEAST_DEVIATION * LEAST_DEVIATION).sqrt();
    let mut steps = Vec::new();
    let mut product = 1.0;
    for r in correlations {
        product *= r.clamp(-1.0, 1.0);
        if product.abs() <= nearest {
            steps.push(product);
            product = 1.0;
        }
    }
    steps
}
