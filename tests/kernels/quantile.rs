use asfound::numeric::statistics::quantile::*;

#[test]
fn ends_are_those_of_the_whole() {
    let mut gathered = Gathered::new(500.0, 1001);
    (0..=1000_u32).for_each(|i| gathered.add(f64::from(i * 379 % 1001)));
    assert_eq!(gathered.ends(), (10.0, 990.0));
    assert_eq!((gathered.count(), gathered.mean()), (1001, 500.0));
    assert!((gathered.deviation() - libm::sqrt((1001.0 * 1001.0 - 1.0) / 12.0)).abs() < 1e-9);
}

#[test]
fn one_value_is_both_ends() {
    let mut gathered = Gathered::new(0.0, 100);
    gathered.add(4.0);
    gathered.add(f64::NAN);
    assert_eq!((gathered.ends(), gathered.deviation()), ((4.0, 4.0), 0.0));
}
