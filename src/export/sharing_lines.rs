//! How cations share the ground, as lines of the summary.

use std::fmt::Write as _;

use super::sharing_words::{soil_text, why_no_targets, zone_sentences};
use super::summary::wrapped;
use crate::chemistry::{Cation, NO_RATE_FROM_SHARES, SHARE_EVIDENCE};
use crate::rates::sharing::{CecBasis, SharingSettings, ZoneSharing};
use crate::units::UnitSystem;

/// A table of shares, what is said of each zone, and what is published about shares as a goal; nothing without zones.
///
/// # Guarantees
/// - no line is longer than 80 columns
/// - the published evidence always stands below
pub fn sharing_lines(sharings: &[ZoneSharing], settings: &SharingSettings, units: UnitSystem) -> String {
    let Some(first) = sharings.first() else { return String::new() };
    let mut text = String::from("How calcium, magnesium and potassium share the ground\n");
    shares(&mut text, sharings);
    let no_targets = settings.approach.shows_targets().then(|| why_no_targets(first.cec_basis)).flatten();
    if let Some(why) = no_targets {
        wrapped(&mut text, why, "  ");
    } else if settings.approach.shows_targets() {
        let line = format!(
            "Against targets ({}), for information; amounts are of {}. Nothing here is prescribed.",
            settings.targets.source(),
            soil_text(settings, units)
        );
        wrapped(&mut text, &line, "  ");
    }
    for sharing in sharings {
        let sentences = zone_sentences(sharing, settings, units);
        if !sentences.is_empty() {
            wrapped(&mut text, &format!("Zone {}. {}", sharing.zone, sentences.join(" ")), "  ");
        }
    }
    wrapped(&mut text, &format!("{} {NO_RATE_FROM_SHARES}", SHARE_EVIDENCE.join(" ")), "  ");
    text.push('\n');
    text
}

fn shares(text: &mut String, sharings: &[ZoneSharing]) {
    let cec = match sharings[0].cec_basis {
        CecBasis::Effective => "eff. CEC",
        _ => "CEC",
    };
    let _ = writeln!(text, "  zone {:>8}   Ca %   Mg %    K %   Na %  rest %   of the zone's mean", cec);
    for sharing in sharings {
        let parts = &sharing.exchange;
        let _ = write!(text, "  {:<4} {:>8.1}", sharing.zone, parts.cec_meq_100g());
        for cation in Cation::ALL {
            match parts.saturation_percent(cation) {
                Some(percent) => {
                    let _ = write!(text, " {percent:>6.1}");
                }
                None => text.push_str("      -"),
            }
        }
        let _ = writeln!(text, " {:>7.1}", 100.0 - parts.base_saturation_percent() + 0.0);
    }
}
