use asfound::numeric::statistics::draw::*;

#[test]
fn the_normal_distribution_of_the_tables() {
    // Abramowitz and Stegun, table 26.5, from memory.
    for (share, value) in [(0.5, 0.0), (0.99, NINETY_NINE), (0.01, -NINETY_NINE), (0.841_344_746, 1.0)] {
        assert!((normal(share) - value).abs() < 3e-8, "{share}: {}", normal(share));
    }
}

#[test]
fn a_row_is_even() {
    let row = Stream::new(7, "R1");
    let many = 100_000;
    let (mut sum, mut squares) = (0.0, 0.0);
    for place in 0..many {
        let x = row.at(place) - 0.5;
        sum += x;
        squares += x * x;
    }
    assert!((sum / many as f64).abs() < 4.0 * libm::sqrt(1.0 / 12.0 / many as f64));
    assert!((squares / many as f64 - 1.0 / 12.0).abs() < 4.0 * libm::sqrt(1.0 / 180.0 / many as f64));
}

#[test]
fn moments_are_those_of_the_draws() {
    for of in [Distribution::Uniform { below: 0.2, above: 0.5 }, Distribution::Normal { ends: 0.3 }] {
        let many = 100_000;
        let grid = (0..many).map(|i| of.at((f64::from(i) + 0.5) / f64::from(many)) - 1.0);
        let all: Vec<f64> = grid.collect();
        let mean = all.iter().sum::<f64>() / f64::from(many);
        let moment =
            |p: i32| all.iter().map(|x| libm::pow(x - mean, f64::from(p))).sum::<f64>() / f64::from(many);
        assert!((mean - of.mean()).abs() < 1e-6);
        assert!((moment(2) - of.variance()).abs() < 1e-5);
        assert!((moment(4) - 3.0 * moment(2) * moment(2) - of.fourth()).abs() < 1e-5);
    }
}
