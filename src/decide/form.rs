//! What a browser sends of the page's form, as answers.

use percent_encoding::percent_decode_str;

use super::edit::Answers;
use super::slot::{Slot, SlotKind};

/// A form as sent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Form {
    /// Answers, by slot.
    pub answers: Answers,
    /// Whether figures are to be brought to the number of zones asked for.
    pub carry: bool,
}

/// Reads `application/x-www-form-urlencoded` text, by section 5.1 of the WHATWG URL standard; names are sent by their
/// order, from one.
///
/// `None` where it is not a form of this page: a name that is none of its inputs, one answer twice, text that is not UTF-8.
pub fn read_form(text: &str, slots: &[Slot]) -> Option<Form> {
    let decoded = |part: &str| {
        let spaced = part.replace('+', " ");
        percent_decode_str(&spaced).decode_utf8().ok().map(|text| text.into_owned())
    };
    let mut form = Form { answers: Answers::new(), carry: false };
    for pair in text.split('&').filter(|pair| !pair.is_empty()) {
        let (name, value) = pair.split_once('=').unwrap_or((pair, ""));
        let (name, value) = (decoded(name)?, decoded(value)?);
        if name == "carry" {
            form.carry = true;
            continue;
        }
        let slot = slots.iter().find(|slot| slot.name == name)?;
        let given = form.answers.entry(name).or_default();
        match &slot.kind {
            SlotKind::Names(names) => {
                let index = value.parse::<usize>().ok()?.checked_sub(1)?;
                given.push(names.get(index)?.clone());
            }
            _ if given.is_empty() => given.push(value),
            _ => return None,
        }
    }
    Some(form)
}

#[cfg(test)]
mod tests {
    use super::super::slot::Step;
    use super::*;

    fn slot(name: &str, kind: SlotKind) -> Slot {
        let path = vec![Step::Key(name.to_owned())];
        Slot { name: name.to_owned(), question: 1, path, kind, label: String::new(), answer: Vec::new() }
    }

    #[test]
    fn forms_are_read_and_anything_else_is_refused() {
        let hostile = "<script>\"&=\u{202e}\u{1f600}".to_owned();
        let names = SlotKind::Names(vec!["A".to_owned(), hostile.clone()]);
        let slots = [slot("goal", SlotKind::Numbers), slot("out", names)];
        let form = read_form("goal=150%2C+205&out=2&out=1&carry=yes", &slots).unwrap();
        assert_eq!(form.answers["goal"], ["150, 205"]);
        assert_eq!(form.answers["out"], [hostile, "A".to_owned()]);
        assert!(form.carry);
        for text in ["other=1", "goal=1&goal=2", "out=3", "out=0", "out=x", "goal=%FF"] {
            assert_eq!(read_form(text, &slots), None, "{text}");
        }
        assert_eq!(read_form("", &slots).unwrap().answers.len(), 0);
    }
}
