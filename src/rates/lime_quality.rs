//! How much of a lime product works, by the scheme its label follows, and which recommendation that may divide.
//!
//! A recommendation is stated in tons of some lime ([`LimeBasis`]); a label states a quality by its state's scheme. The two
//! go together only in pairs: any other pair is refused unless the user names a conversion, which is then printed.

#[cfg(test)]
mod tests;

use super::guide::LimeBasis;

/// Said where a product is pelletized lime. Source: Ohio State Univ. \[R2\].
pub const PELLETIZED_LIME_NOTE: &str = "pelletized lime is fine and spreads well, but works no faster than good ag lime; \
     its quality is tested before it is pelletized, and 300 to 500 lb of it do not stand for tons";

/// Calcium carbonate that a pound of magnesium carbonate stands for, lb. Source: Virginia Tech SPES-201, 1.187 \[R\]; by
/// atomic masses (from memory) 100.086 / 84.313. Test: 1.187.
pub const CACO3_PER_MGCO3: f64 = 100.086 / 84.313;

/// Pounds in a short ton of pure calcium carbonate that Missouri counts as effective neutralizing material. Source: Univ.
/// of Missouri Plant Food Control \[R\].
const MISSOURI_LB_OF_FULL: f64 = 800.0;
/// The same for Minnesota and Ohio.
const ENP_LB_OF_FULL: f64 = 2000.0;
/// Calcium carbonate equivalents lime can have, percent: burnt lime has 179. Source: from memory \[M\].
const CCE_PERCENT: [f64; 2] = [1.0, 180.0];

/// Sieves of New York, and what works of the lime between each and the next: 0.40 through 20 mesh, 0.80 through 60, 1.00
/// through 100. Source: Cornell CCA competency area 5, PO 41 \[R\].
const NEW_YORK_SIEVES: [(u32, f64); 3] = [(20, 0.40), (60, 0.80), (100, 1.00)];
/// Sieves of Missouri. Source: Univ. of Missouri Plant Food Control \[R\].
const MISSOURI_SIEVES: [(u32, f64); 3] = [(8, 0.25), (40, 0.60), (60, 1.00)];

/// What a label states.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LimeLabel {
    /// New York, sieved: percent through 20, 60 and 100 mesh.
    NewYork {
        /// Percent through each sieve.
        passing_percent: [f64; 3],
        /// Calcium carbonate equivalent, percent.
        cce_percent: f64,
    },
    /// New York, as printed: effective neutralizing value, percent.
    NewYorkEnv(f64),
    /// Missouri, sieved: percent through 8, 40 and 60 mesh.
    Missouri {
        /// Percent through each sieve.
        passing_percent: [f64; 3],
        /// Calcium carbonate equivalent, percent.
        cce_percent: f64,
    },
    /// Missouri, as printed: effective neutralizing material, lb a short ton.
    MissouriEnm(f64),
    /// Minnesota, from its parts.
    Minnesota {
        /// Fineness index, 0 to 1.
        fineness_index: f64,
        /// Total neutralizing power, percent.
        tnp_percent: f64,
        /// Dry matter, percent.
        dry_percent: f64,
    },
    /// Minnesota, as printed: effective neutralizing power, lb a short ton.
    MinnesotaEnp(f64),
    /// Ohio, as printed: effective neutralizing power, lb a short ton.
    OhioEnp(f64),
    /// Oregon, as printed: lime score.
    OregonScore(f64),
    /// Neutralizing value alone: calcium carbonate equivalent, percent.
    Cce(f64),
}

/// Schemes by their names in the field file, with the keys each takes.
const SCHEMES: [(&str, &str); 6] = [
    ("new-york", "`passing_percent` through 20, 60 and 100 mesh with `cce_percent`, or `env_percent`"),
    ("missouri", "`passing_percent` through 8, 40 and 60 mesh with `cce_percent`, or `enm_lb_short_ton`"),
    ("minnesota", "`fineness_index`, `tnp_percent` and `dry_percent`, or `enp_lb_short_ton`"),
    ("ohio", "`enp_lb_short_ton`"),
    ("oregon-score", "`score`"),
    ("cce", "`cce_percent`"),
];

/// Quality of a lime product.
#[derive(Debug, Clone, PartialEq)]
pub struct LimeQuality {
    /// What of a pound of product works, by its scheme: 1 is the scheme's full lime.
    pub share_of_full: f64,
    /// Lime that is full by the scheme, as recommendations state it.
    pub bases: &'static [LimeBasis],
    /// In words: "New York ENV 69.9 %".
    pub text: String,
    /// What a person must look at.
    pub warnings: Vec<String>,
}

/// Share of a product that counts for a recommendation.
#[derive(Debug, Clone, PartialEq)]
pub struct LimeShare {
    /// Short tons of the guide's lime in a short ton of product.
    pub share: f64,
    /// How it was come by, to be printed.
    pub sentence: String,
}

impl LimeLabel {
    /// Reads a label as keys of a field file: `scheme`, the sieves of `passing_percent` (mesh, percent), and the other
    /// keys with their figures.
    ///
    /// `caco3_percent` with `mgco3_percent` may stand for `cce_percent`.
    ///
    /// # Errors
    /// Every fault of the label, in words.
    pub fn from_keys(scheme: &str, passing: &[(u32, f64)], figures: &[(&str, f64)]) -> Result<Self, Vec<String>> {
        let Some((_, takes)) = SCHEMES.iter().find(|(name, _)| *name == scheme) else {
            let names: Vec<&str> = SCHEMES.iter().map(|(name, _)| *name).collect();
            return Err(vec![format!("`{scheme}` is not a scheme of lime labels: these are `{}`", names.join("`, `"))]);
        };
        let mut figures = figures.to_vec();
        if let Some(cce) = carbonates_to_cce(&mut figures) {
            figures.push(("cce_percent", cce));
        }
        let keys: Vec<&str> = figures.iter().map(|(key, _)| *key).collect();
        let figure = |key: &str| figures.iter().find(|(name, _)| *name == key).map_or(f64::NAN, |(_, figure)| *figure);
        let is = |wanted: &[&str]| keys.len() == wanted.len() && wanted.iter().all(|key| keys.contains(key));
        let label = match (scheme, passing.is_empty()) {
            ("new-york", false) if is(&["cce_percent"]) => LimeLabel::NewYork {
                passing_percent: through(passing, &NEW_YORK_SIEVES)?,
                cce_percent: figure("cce_percent"),
            },
            ("new-york", true) if is(&["env_percent"]) => LimeLabel::NewYorkEnv(figure("env_percent")),
            ("missouri", false) if is(&["cce_percent"]) => LimeLabel::Missouri {
                passing_percent: through(passing, &MISSOURI_SIEVES)?,
                cce_percent: figure("cce_percent"),
            },
            ("missouri", true) if is(&["enm_lb_short_ton"]) => LimeLabel::MissouriEnm(figure("enm_lb_short_ton")),
            ("minnesota", true) if is(&["fineness_index", "tnp_percent", "dry_percent"]) => LimeLabel::Minnesota {
                fineness_index: figure("fineness_index"),
                tnp_percent: figure("tnp_percent"),
                dry_percent: figure("dry_percent"),
            },
            ("minnesota", true) if is(&["enp_lb_short_ton"]) => LimeLabel::MinnesotaEnp(figure("enp_lb_short_ton")),
            ("ohio", true) if is(&["enp_lb_short_ton"]) => LimeLabel::OhioEnp(figure("enp_lb_short_ton")),
            ("oregon-score", true) if is(&["score"]) => LimeLabel::OregonScore(figure("score")),
            ("cce", true) if is(&["cce_percent"]) => LimeLabel::Cce(figure("cce_percent")),
            _ => {
                let mut found = keys;
                if !passing.is_empty() {
                    found.insert(0, "passing_percent");
                }
                let found = if found.is_empty() { "nothing".to_owned() } else { format!("`{}`", found.join("`, `")) };
                return Err(vec![format!("scheme `{scheme}` takes {takes}; found {found}")]);
            }
        };
        let faults = label.faults();
        if faults.is_empty() { Ok(label) } else { Err(faults) }
    }

    /// What the label comes to.
    ///
    /// # Source
    /// New York: `ENV = fineness factor * CCE / 100`, Cornell PO 41 \[R\]. Missouri: `ENM = CCE/100 * fineness/100 * 800`
    /// lb a short ton, at least 90 % through 8 mesh and CCE 65 \[R\]. Minnesota: `ENP = fineness index * TNP * 2000 * dry
    /// fraction`, Minnesota Dept. of Agriculture \[R\].
    ///
    /// # Check values
    /// Agronomy checks 50 to 52, A(R): ENV 69.9, ENM 478.8, ENP 1396.8.
    pub fn quality(&self) -> LimeQuality {
        let (share_of_full, bases, text): (f64, &'static [LimeBasis], String) = match *self {
            LimeLabel::NewYork { passing_percent, cce_percent } => {
                let env = fineness_percent(passing_percent, &NEW_YORK_SIEVES) * cce_percent / 100.0;
                return LimeLabel::NewYorkEnv(env).quality();
            }
            LimeLabel::NewYorkEnv(env) => {
                (env / 100.0, &[LimeBasis::NewYorkEnv100], format!("New York ENV {env:.1} %"))
            }
            LimeLabel::Missouri { passing_percent, cce_percent } => {
                let fineness = fineness_percent(passing_percent, &MISSOURI_SIEVES);
                let enm = cce_percent / 100.0 * fineness / 100.0 * MISSOURI_LB_OF_FULL;
                let warnings = missouri_warnings(passing_percent[0], cce_percent);
                return LimeQuality { warnings, ..LimeLabel::MissouriEnm(enm).quality() };
            }
            LimeLabel::MissouriEnm(enm) => (
                enm / MISSOURI_LB_OF_FULL,
                &[LimeBasis::MissouriEnm800],
                format!("Missouri ENM {enm:.0} lb a short ton"),
            ),
            LimeLabel::Minnesota { fineness_index, tnp_percent, dry_percent } => {
                let enp = fineness_index * tnp_percent / 100.0 * ENP_LB_OF_FULL * dry_percent / 100.0;
                return LimeLabel::MinnesotaEnp(enp).quality();
            }
            LimeLabel::MinnesotaEnp(enp) => {
                (enp / ENP_LB_OF_FULL, &[LimeBasis::MinnesotaEnp2000], format!("Minnesota ENP {enp:.0} lb a short ton"))
            }
            LimeLabel::OhioEnp(enp) => {
                (enp / ENP_LB_OF_FULL, &[LimeBasis::OhioEnp2000], format!("Ohio ENP {enp:.0} lb a short ton"))
            }
            LimeLabel::OregonScore(score) => {
                (score / 100.0, &[LimeBasis::OregonScore100], format!("Oregon lime score {score:.0}"))
            }
            // Both are stated by neutralizing value, for lime as fine as is usual.
            LimeLabel::Cce(cce) => (
                cce / 100.0,
                &[LimeBasis::Cce100, LimeBasis::AgLime90],
                format!("calcium carbonate equivalent {cce:.0} %"),
            ),
        };
        LimeQuality { share_of_full, bases, text, warnings: Vec::new() }
    }

    /// Figures that no lime has, in words.
    fn faults(&self) -> Vec<String> {
        let mut faults = Vec::new();
        let mut within = |what: &str, figure: f64, [least, most]: [f64; 2]| {
            if !(least..=most).contains(&figure) {
                faults.push(format!("{what} {figure} must lie between {least} and {most}"));
            }
        };
        match *self {
            LimeLabel::NewYork { cce_percent, .. } | LimeLabel::Missouri { cce_percent, .. } => {
                within("CCE", cce_percent, CCE_PERCENT);
            }
            LimeLabel::NewYorkEnv(env) => within("ENV", env, CCE_PERCENT),
            LimeLabel::MissouriEnm(enm) => within("ENM", enm, [10.0, MISSOURI_LB_OF_FULL * CCE_PERCENT[1] / 100.0]),
            LimeLabel::Minnesota { fineness_index, tnp_percent, dry_percent } => {
                within("fineness index", fineness_index, [0.01, 1.0]);
                within("TNP", tnp_percent, CCE_PERCENT);
                within("dry matter", dry_percent, [20.0, 100.0]);
            }
            LimeLabel::MinnesotaEnp(enp) | LimeLabel::OhioEnp(enp) => {
                within("ENP", enp, [20.0, ENP_LB_OF_FULL * CCE_PERCENT[1] / 100.0]);
            }
            LimeLabel::OregonScore(score) => within("lime score", score, CCE_PERCENT),
            LimeLabel::Cce(cce) => within("CCE", cce, CCE_PERCENT),
        }
        let sieves = match *self {
            LimeLabel::NewYork { passing_percent, .. } => Some((passing_percent, NEW_YORK_SIEVES)),
            LimeLabel::Missouri { passing_percent, .. } => Some((passing_percent, MISSOURI_SIEVES)),
            _ => None,
        };
        if let Some((passing, sieves)) = sieves {
            for (percent, (mesh, _)) in passing.into_iter().zip(sieves) {
                if !(0.0..=100.0).contains(&percent) {
                    faults.push(format!("{percent} % through {mesh} mesh must lie between 0 and 100"));
                }
            }
            for (coarse, fine) in
                [(0, 1), (1, 2)].into_iter().filter(|(coarse, fine)| passing[*coarse] < passing[*fine])
            {
                faults.push(format!(
                    "{} % pass {} mesh, but {} % the finer {} mesh: what passes the finer passes the coarser too",
                    passing[coarse], sieves[coarse].0, passing[fine], sieves[fine].0
                ));
            }
            if passing[0] <= 0.0 {
                faults.push(format!("nothing passes {} mesh: none of it would work", sieves[0].0));
            }
        }
        faults
    }
}

impl LimeQuality {
    /// Share of the product that counts for a recommendation in `basis`. `count_as` is the user's conversion in words, for
    /// a label of another scheme than the recommendation's.
    ///
    /// `short tons of product = short tons recommended / share`.
    ///
    /// # Check values
    /// Ohio State \[R2\]: 2 short tons at 2,000 lb ENP are 4.0 of a product of 1,000 lb, 2.67 (printed 2.7) of 1,500 lb.
    ///
    /// # Errors
    /// Why the label may not divide the recommendation.
    pub fn share_for(&self, basis: LimeBasis, count_as: Option<&str>) -> Result<LimeShare, String> {
        let share = self.share_of_full / basis.caco3_share();
        let text = &self.text;
        if self.bases.contains(&basis) {
            let alone = if matches!(basis, LimeBasis::Cce100 | LimeBasis::AgLime90) {
                "; how fine it is, is not counted"
            } else {
                ""
            };
            return Ok(LimeShare { share, sentence: format!("{text}: {share:.3} of it is {}{alone}", basis.words()) });
        }
        match count_as.map(str::trim).filter(|words| !words.is_empty()) {
            Some(words) => Ok(LimeShare {
                share,
                sentence: format!("{text}, counted as {} by the user's word: {words}; {share:.3} of it", basis.words()),
            }),
            None => Err(format!(
                "the recommendation is in {}, the label states {text}: schemes count fineness unlike, and one does not \
                 divide the other",
                basis.words()
            )),
        }
    }
}

/// Percent of each sieve, in the scheme's order.
fn through(passing: &[(u32, f64)], sieves: &[(u32, f64); 3]) -> Result<[f64; 3], Vec<String>> {
    let named = |list: Vec<u32>| list.iter().map(u32::to_string).collect::<Vec<_>>().join(", ");
    let of = |mesh: u32| passing.iter().find(|(sieve, _)| *sieve == mesh).map(|(_, percent)| *percent);
    match sieves.map(|(mesh, _)| of(mesh)) {
        [Some(coarse), Some(middle), Some(fine)] if passing.len() == sieves.len() => Ok([coarse, middle, fine]),
        _ => Err(vec![format!(
            "`passing_percent` is of the sieves {}; the scheme takes {}",
            named(passing.iter().map(|(mesh, _)| *mesh).collect()),
            named(sieves.iter().map(|(mesh, _)| *mesh).collect())
        )]),
    }
}

/// Percent of the lime that works by its fineness: what lies between each sieve and the next, times what works of it.
fn fineness_percent(passing_percent: [f64; 3], sieves: &[(u32, f64); 3]) -> f64 {
    let [coarse, middle, fine] = passing_percent;
    (coarse - middle) * sieves[0].1 + (middle - fine) * sieves[1].1 + fine * sieves[2].1
}

/// Missouri's least quality of ag lime. Source: Univ. of Missouri Plant Food Control \[R\].
fn missouri_warnings(through_8_percent: f64, cce_percent: f64) -> Vec<String> {
    let mut warnings = Vec::new();
    if through_8_percent < 90.0 {
        warnings.push(format!("{through_8_percent} % pass 8 mesh; Missouri asks at least 90 % of ag lime"));
    }
    if cce_percent < 65.0 {
        warnings.push(format!("CCE {cce_percent} %; Missouri asks at least 65 % of ag lime"));
    }
    warnings
}

/// Calcium carbonate equivalent, percent, of a lime analyzed as carbonates.
pub fn cce_of_carbonates_percent(caco3_percent: f64, mgco3_percent: f64) -> f64 {
    caco3_percent + CACO3_PER_MGCO3 * mgco3_percent
}

/// Takes `caco3_percent` and `mgco3_percent` out of the figures and gives what they come to.
fn carbonates_to_cce(figures: &mut Vec<(&str, f64)>) -> Option<f64> {
    let of =
        |figures: &[(&str, f64)], key: &str| figures.iter().find(|(name, _)| *name == key).map(|(_, figure)| *figure);
    let cce = cce_of_carbonates_percent(of(figures, "caco3_percent")?, of(figures, "mgco3_percent")?);
    figures.retain(|(key, _)| !["caco3_percent", "mgco3_percent"].contains(key));
    Some(cce)
}
