use asfound::units::*;

fn value(text: &str) -> f64 {
    parse_quantity(text).expect("a value").value
}

/// IEC 60062 (RKM code) examples as quoted in `tests/reference/published/standards.json`, marked read.
#[test]
fn reads_the_value_codes_of_iec_60062() {
    for (code, ohms) in [
        ("R47", 0.47),
        ("4R7", 4.7),
        ("470R", 470.0),
        ("4K7", 4700.0),
        ("47K", 47e3),
        ("47K3", 47.3e3),
        ("470K", 470e3),
        ("4M7", 4.7e6),
    ] {
        assert_eq!(value(code), ohms, "{code}");
    }
}

#[test]
fn spellings_of_one_value_are_one_double() {
    assert_eq!(value("4k7"), value("4.7k"));
    assert_eq!(value("4k7"), 4700.0);
    assert_eq!(value("0.68µF"), value("680nF"));
    assert_eq!(value("0R47"), value("470mΩ"));
    assert_eq!(parse_quantity("22 nF").unwrap().unit, Some(Unit::Farad));
    assert_eq!(value("60%"), 0.6);
}

#[test]
fn refuses_what_is_not_a_value() {
    for text in ["4,7k", "k", "1.2.3", "4.7k7", "10zF", "1e400", "", ".", "1e99999999999", "4kk"] {
        assert!(parse_quantity(text).is_err(), "{text}");
    }
}

#[test]
fn prints_codes_that_read_back() {
    for (ohms, code) in [(4700.0, "4k7"), (0.47, "0R47"), (820.0, "820R"), (1e6, "1M"), (131_000.0, "131k")] {
        assert_eq!(value_code(ohms, Unit::Ohm), code);
        assert_eq!(value(code), ohms);
    }
    for (farads, code) in [(2.2e-9, "2n2"), (330e-12, "330p"), (47e-6, "47u"), (0.68e-6, "680n")] {
        assert_eq!(value_code(farads, Unit::Farad), code);
        assert_eq!(value(code), farads);
    }
}

#[test]
fn rounds_for_people() {
    assert_eq!(rounded(461.237, Unit::Volt, 4), "461.2 V");
    assert_eq!(rounded(0.032_14, Unit::Amp, 3), "32.1 mA");
    assert_eq!(rounded(0.7137, Unit::Ratio, 3), "71.4 %");
    assert_eq!(rounded(1e-10, Unit::Volt, 3), "0 V");
    assert_eq!(rounded(1300.0, Unit::Volt, 3), "1300 V");
    assert_eq!(rounded(0.0, Unit::Watt, 3), "0 W");
    assert_eq!(rounded(33e-6, Unit::Amp, 3), "33 µA");
}

#[test]
fn figures_of_one_comparison_line_up() {
    assert_eq!(rounded_like(-0.0806, -4.83, Unit::Volt, 3), "-0.08 V");
    assert_eq!(rounded_like(685e-6, 709.3e-6, Unit::Amp, 4), "685.0 µA");
    assert_eq!(rounded_like(-0.0001, 461.2, Unit::Volt, 4), "0.0 V");
    assert_eq!(rounded_like(0.5, 1300.0, Unit::Volt, 3), "0 V");
    assert_eq!(rounded_like(0.05, 0.714, Unit::Ratio, 3), "5.0 %");
}
