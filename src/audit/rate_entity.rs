//! Data dictionary entities of rates (ISO 11783-11), as far as a prescription needs them.
//!
//! Source: the public data dictionary, from a copy of its 641 entities read in 2025. For every setpoint but the coarse
//! volume the next four numbers are actual, default, minimum and maximum.

use super::rate_unit::Counted;

/// What a number of the dictionary stands for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RateEntity {
    /// Number of the setpoint.
    pub setpoint: u16,
    /// In words.
    pub quantity: &'static str,
    /// What it counts over ground and base units (kg/ha, L/ha, 1/ha) in one count; `None` for rates over time, spacing.
    pub over_ground: Option<(Counted, f64)>,
}

/// Setpoints.
pub static SETPOINTS: &[RateEntity] = &[
    entity(1, "volume per area", Some((Counted::Volume, 1e-4))),
    entity(6, "mass per area", Some((Counted::Mass, 0.01))),
    entity(11, "count per area", Some((Counted::Pieces, 10.0))),
    entity(16, "spacing", None),
    entity(36, "volume per time", None),
    entity(41, "mass per time", None),
    entity(46, "count per time", None),
    entity(588, "volume per area, coarse", Some((Counted::Volume, 1.0))),
];

/// Kinds that follow a setpoint.
const FOLLOWERS: [&str; 4] = ["actual", "default", "minimum", "maximum"];

const fn entity(setpoint: u16, quantity: &'static str, over_ground: Option<(Counted, f64)>) -> RateEntity {
    RateEntity { setpoint, quantity, over_ground }
}

/// The setpoint of a number.
pub fn setpoint(number: u16) -> Option<&'static RateEntity> {
    SETPOINTS.iter().find(|entity| entity.setpoint == number)
}

/// What a number is when it is no setpoint: `the actual mass per area`; `None` where it is not known here.
pub fn other_kind(number: u16) -> Option<String> {
    let (entity, index) = SETPOINTS
        .iter()
        .filter_map(|entity| Some((entity, number.checked_sub(entity.setpoint + 1)? as usize)))
        .find(|(_, index)| *index < FOLLOWERS.len())?;
    // The coarse volume has another order.
    let kind =
        if entity.setpoint == 588 { ["actual", "minimum", "maximum", "default"][index] } else { FOLLOWERS[index] };
    Some(format!("the {kind} {}", entity.quantity))
}

/// Number of an entity from its hexadecimal text, in any case.
pub fn number(text: &str) -> Option<u16> {
    let is_hex = !text.is_empty() && text.len() <= 4 && text.bytes().all(|byte| byte.is_ascii_hexdigit());
    is_hex.then(|| u16::from_str_radix(text, 16).ok()).flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_count_is_what_the_dictionary_says() {
        // Data dictionary: 1 is 0.01 mm3/m2, 6 is 1 mg/m2, 11 is 0.001 /m2, 588 is 0.1 ml/m2.
        let base = |number| setpoint(number).and_then(|entity| entity.over_ground).expect("over ground").1;
        assert!((base(1) - 0.01e-6 * 1e4).abs() < 1e-15); // mm3 to liters, m2 to hectares
        assert!((base(6) - 1e-6 * 1e4).abs() < 1e-15);
        assert!((base(11) - 0.001 * 1e4).abs() < 1e-12);
        assert!((base(588) - 0.1e-3 * 1e4).abs() < 1e-12);
    }

    #[test]
    fn actual_and_limits_are_no_setpoints() {
        assert_eq!(other_kind(7).as_deref(), Some("the actual mass per area"));
        assert_eq!(other_kind(9).as_deref(), Some("the minimum mass per area"));
        assert_eq!(other_kind(6), None);
        assert_eq!(other_kind(5).as_deref(), Some("the maximum volume per area"));
        assert_eq!((number("000b"), number("0006"), number("6"), number("00X1")), (Some(11), Some(6), Some(6), None));
    }
}
