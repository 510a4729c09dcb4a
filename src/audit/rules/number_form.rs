//! How decimals and integers are written.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "number-form",
    checks: "that decimals have a point, no exponent and at most 9 digits after the point, and integers no point",
    why: "the published schemas take nothing else: an exponent or a comma makes a strict reader refuse the file",
    example: "`C=\"4.15e1\"` as a latitude, or `41,5`",
    mend: "write plain decimals with a point",
};

/// Attributes that are decimals: element, attribute, whether at most 9 digits may follow the point.
const DECIMALS: [(&str, &str, bool); 5] =
    [("PNT", "C", true), ("PNT", "D", true), ("GRD", "A", true), ("GRD", "B", true), ("VPN", "C", false)];
/// Attributes that are numbers of any form.
const DOUBLES: [(&str, &str); 2] = [("GRD", "C"), ("GRD", "D")];
/// Attributes that are integers.
const INTEGERS: [(&str, &str); 12] = [
    ("PFD", "D"),
    ("PLN", "C"),
    ("VPN", "B"),
    ("VPN", "D"),
    ("GRD", "E"),
    ("GRD", "F"),
    ("GRD", "H"),
    ("GRD", "I"),
    ("GRD", "J"),
    ("TSK", "H"),
    ("TSK", "I"),
    ("TSK", "J"),
];

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    for element in set.root.walk() {
        for (key, value) in &element.attributes {
            let is = |(name, attribute): (&str, &str)| name == element.name && attribute == key;
            let fault = if value.is_empty() {
                None
            } else if let Some((.., is_short)) = DECIMALS.iter().find(|(name, attribute, _)| is((name, attribute))) {
                decimal_fault(value, *is_short)
            } else if DOUBLES.iter().any(|pair| is(*pair)) {
                value.parse::<f64>().is_err().then(|| "is no number".to_owned())
            } else if INTEGERS.iter().any(|pair| is(*pair)) {
                value.parse::<i64>().is_err().then(|| "is no integer".to_owned())
            } else {
                None
            };
            if let Some(why) = fault {
                found.push(Diagnostic::error(&CODE, format!("`{value}` {why}")).at(set.place(element, key)));
            }
        }
    }
    found
}

/// What is wrong with a decimal.
fn decimal_fault(text: &str, is_short: bool) -> Option<String> {
    let digits = text.strip_prefix(['-', '+']).unwrap_or(text);
    if digits.contains(['e', 'E']) {
        return Some("has an exponent".to_owned());
    }
    if digits.contains(',') {
        return Some("has a comma in the place of the point".to_owned());
    }
    let (whole, after) = digits.split_once('.').unwrap_or((digits, ""));
    let is_digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    if !is_digits(whole) || !is_digits(after) || (whole.is_empty() && after.is_empty()) {
        return Some("is no decimal number".to_owned());
    }
    (is_short && after.len() > 9).then(|| format!("has {} digits after the point, at most 9 expected", after.len()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decimals_are_those_of_the_schema() {
        for text in ["41.5", "-93.600000000", "0", ".5", "+1."] {
            assert_eq!(decimal_fault(text, true), None, "{text}");
        }
        for text in ["4.15e1", "41,5", "41.5.1", "", "-", "NaN", "41.1234567891", "0x1"] {
            assert!(decimal_fault(text, true).is_some(), "{text}");
        }
        assert_eq!(decimal_fault("0.00892179122", false), None);
    }
}
