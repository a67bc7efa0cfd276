//! Counts, means and medians.

use siskin::statistics::poisson;

/// Garwood F (1936) Biometrika 28:437-442; digits from R `qchisq(p, 2 * x) / 2`, as
/// `epitools::pois.exact` gives them to 1e-9. For no events the upper limit is -ln(0.025).
#[test]
fn poisson_intervals_equal_garwoods() {
    let rows = [
        (41, 29.422_307_868_455_28, 55.621_129_565_734_92),
        (5, 1.623_486_390_118_420_7, 11.668_332_079_322_67),
        (0, 0.0, -(0.025_f64.ln())),
    ];
    for (events, lower, upper) in rows {
        let found = poisson::exact(events);
        assert!((found.lower - lower).abs() <= 1e-9 * lower, "{events}: {found:?}");
        assert!((found.upper - upper).abs() <= 1e-9 * upper, "{events}: {found:?}");
    }
}
