use super::*;
use proptest::prelude::*;

fn mm(text: &str) -> f64 {
    parse_length(text, Unit::Millimetre).unwrap_or_else(|fault| panic!("{text}: {fault}"))
}

fn fault(text: &str) -> String {
    let fault = parse_length(text, Unit::Millimetre).expect_err(text);
    format!("{fault}; {}", fault.advice())
}

#[test]
fn lengths_in_every_spelling() {
    for (text, expected) in [
        ("5/8 in", 15.875),
        ("1-1/2 in", 38.1),
        ("1 1/2 in", 38.1),
        ("1 - 1/2 in", f64::NAN),
        ("2.5\"", 63.5),
        ("1-1/2\"", 38.1),
        ("12.5 mm", 12.5),
        ("12.5mm", 12.5),
        ("3.2 cm", 32.0),
        ("3 m", 3000.0),
        ("  7 ", 7.0),
        ("-1-1/2 in", -38.1),
        ("-5/8in", -15.875),
        ("+4", 4.0),
        ("- 4", -4.0),
        (".5", 0.5),
        ("5.", 5.0),
        ("1e2", 100.0),
        ("1.5E-1 cm", 1.5),
        ("-0", 0.0),
        ("3/8 inch", 9.525),
        ("3 inches", 76.2),
        ("1000 m", 1e6),
    ] {
        if expected.is_nan() {
            assert!(parse_length(text, Unit::Millimetre).is_err(), "{text}");
        } else {
            assert!((mm(text) - expected).abs() < 1e-12, "{text}: {}", mm(text));
        }
    }
}

#[test]
fn bare_numbers_take_the_given_unit() {
    assert_eq!(parse_length("1-1/2", Unit::Inch), Ok(1.5 * MM_PER_INCH));
    assert_eq!(parse_length("2", Unit::Centimetre), Ok(20.0));
    assert_eq!(parse_length("2 mm", Unit::Inch), Ok(2.0));
}

#[test]
fn faults_say_what_to_write() {
    assert_eq!(fault("1,5"), "`1,5` has a comma in it; write a decimal point: 1.5");
    assert_eq!(fault("3/0 in"), "`3/0 in` divides by 0; write a fraction such as 1-1/2");
    assert_eq!(
        fault(".nan"),
        "`.nan` is not a finite number; write a number, such as 12.5, 12.5 mm or 5/8 in"
    );
    assert_eq!(
        fault("1e999"),
        "`1e999` is not a finite number; write a number, such as 12.5, 12.5 mm or 5/8 in"
    );
    for (text, inches) in
        [("4'", "48"), ("1 ft", "12"), ("-2.5 feet", "-30"), ("4' 6-1/64\"", "54.015625"), ("1ft 2", "14")]
    {
        assert_eq!(fault(text), format!("`{text}` is in feet; write it in inches: {inches} in"));
    }
    let angle = parse_angle("1e999").expect_err("infinite");
    assert_eq!(angle.advice(), "write degrees, such as 45");
    assert_eq!(fault("2 mn"), "`mn` is not a unit of length; units are mm, cm, m and in (or \")");
    assert_eq!(fault("1001 m"), "`1001 m` is more than 1 km; check the unit");
    assert_eq!(
        fault("\u{2212}4"),
        "`\u{2212}4` has the character `\u{2212}` in it; write `-` for `\u{2212}`"
    );
    let advice = |text: &str| parse_length(text, Unit::Inch).expect_err(text).advice();
    assert_eq!(advice("\u{bd} in"), "write `1/2` for `\u{bd}`");
    assert_eq!(advice("2 \u{215c}"), "write `3/8` for `\u{215c}`");
    assert_eq!(advice("4\u{bc} in"), "write `4-1/4 in`");
    assert_eq!(parse_length("4-1/4 in", Unit::Millimetre), Ok(4.25 * MM_PER_INCH));
    assert_eq!(
        fault("1-5/2 in"),
        "the fraction behind the whole number in `1-5/2 in` is not less than 1; write a fraction such as 1-1/2"
    );
    for text in
        ["", " ", "mm", "1/", "1/2/3", "1 2", "--1", "1.2.3", "1-2", "0x10", "1_000", "e5", "-", "5 mm 3"]
    {
        assert!(parse_length(text, Unit::Millimetre).is_err(), "{text:?}");
    }
}

#[test]
fn angles_are_degrees() {
    for text in ["22.5", "22.5 deg", "22.5°", "22-1/2"] {
        assert_eq!(parse_angle(text), Ok(22.5f64.to_radians()), "{text}");
    }
    assert_eq!(parse_angle("180"), Ok(std::f64::consts::PI));
    let fault = parse_angle("1 rad").expect_err("radians are not read");
    assert_eq!(fault.to_string(), "`rad` is not a unit of angle");
    assert_eq!(
        parse_number("0.5 mm").expect_err("no unit").to_string(),
        "`mm` has no place behind a number without a unit"
    );
}

proptest! {
    #[test]
    fn never_panics_and_never_infinite(text in "\\PC{0,12}|[-+0-9./ eEminc\"]{0,10}") {
        if let Ok(length) = parse_length(&text, Unit::Inch) {
            prop_assert!(length.abs() <= LONGEST_MM);
        }
        if let Ok(angle) = parse_angle(&text) {
            prop_assert!(angle.is_finite());
        }
    }

    #[test]
    fn sixty_fourths_are_exact(whole in 0u32..100, part in 1u32..64) {
        let exact = (f64::from(whole) + f64::from(part) / 64.0) * MM_PER_INCH;
        prop_assert_eq!(mm(&format!("{whole}-{part}/64 in")), exact);
        prop_assert_eq!(mm(&format!("-{whole} {part}/64\"")), -exact);
    }
}
