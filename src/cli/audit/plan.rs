//! What was planned: the rate layers of a result folder, and the contents of its products.

use std::path::Path;

use holdground::audit::against::{
    Comparison, Contents, LAYER_WITHOUT_PLAN, OfPrescription, PLAN_WITHOUT_LAYER, compare, likeness,
};
use holdground::audit::{Prescription, RateLayer};
use holdground::diagnostic::{Diagnostic, Place};
use holdground::messages::COULD_NOT_READ;
use serde_json::Value;

use super::geo_json;
use super::load::LoadedFile;

/// Least share of places at which a layer must be like a planned one to belong to it, where no product says so.
const LEAST_LIKENESS: f64 = 0.02;

/// A result folder's plan.
pub(in crate::cli) struct Plan {
    folder: String,
    layers: Vec<Planned>,
    contents: Contents,
}

struct Planned {
    prescription: Prescription,
    /// Name of the pass, where the file says it.
    pass: Option<String>,
    is_taken: bool,
}

impl Plan {
    /// Reads the rate layers in `gis` of a result folder, and its run record.
    ///
    /// # Errors
    /// One fault where the folder is no result folder, or holds no layer of rates.
    pub(in crate::cli) fn read(folder: &Path) -> Result<Self, Box<Diagnostic>> {
        let shown = folder.display().to_string();
        let fault = |why: String| {
            let message = format!("could not read `{shown}` as a result folder: {why}");
            let fault = Diagnostic::error(&COULD_NOT_READ, message).at(Place::Flag("--against"));
            Box::new(fault.with_help("name a folder that `holdground run` wrote"))
        };
        let gis = folder.join("gis");
        let entries = std::fs::read_dir(&gis).map_err(|_| fault("it has no folder `gis`".to_owned()))?;
        let mut paths: Vec<_> = entries.filter_map(Result::ok).map(|entry| entry.path()).collect();
        paths.retain(|path| path.extension().is_some_and(|ending| ending == "geojson"));
        paths.sort();
        let mut layers = Vec::new();
        for path in paths {
            let bytes = std::fs::read(&path).map_err(|error| fault(error.to_string()))?;
            let inner = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
            let shown = path.display().to_string();
            let prescription = geo_json::read(&LoadedFile { inner, shown, bytes });
            // Zones are ground, not rates.
            let has_rate = prescription.tables.first().is_some_and(|table| table.column("RATE").is_some());
            if has_rate && prescription.layers.len() == 1 {
                let pass = prescription.tables[0].column("PASS").and_then(|column| column.distinct().first().copied());
                let pass = pass.map(str::to_owned);
                layers.push(Planned { prescription, pass, is_taken: false });
            }
        }
        if layers.is_empty() {
            return Err(fault("its folder `gis` holds no layer of rates".to_owned()));
        }
        let record = std::fs::read(folder.join("run_record.json")).unwrap_or_default();
        let record: Value = serde_json::from_slice(&record).unwrap_or_default();
        let mut contents = Contents::new();
        gather_contents(&record, &mut contents);
        contents.dedup();
        Ok(Plan { folder: shown, layers, contents })
    }

    /// The planned layers, each a prescription of its own.
    pub(in crate::cli) fn into_layers(self) -> Vec<Prescription> {
        self.layers.into_iter().map(|planned| planned.prescription).collect()
    }

    /// The planned layers, each a prescription of its own.
    pub(super) fn prescriptions(&self) -> impl Iterator<Item = &Prescription> {
        self.layers.iter().map(|planned| &planned.prescription)
    }

    /// Holds each layer of a prescription against the planned one it belongs to.
    pub(super) fn compare(&mut self, prescription: &Prescription) -> Vec<Comparison> {
        let (comparisons, taken) = self.hold(prescription, true);
        self.layers.iter_mut().zip(taken).for_each(|(planned, taken)| planned.is_taken |= taken);
        comparisons
    }

    /// Holds each layer against the planned one it is most like, and tells which planned ones those are.
    ///
    /// `may_be_strange`: a layer like none belongs to none; else it is held against the nearest whatever its names, cell center by cell center.
    pub(super) fn hold(&self, prescription: &Prescription, may_be_strange: bool) -> (Vec<Comparison>, Vec<bool>) {
        // Files of one kind for all passes each bring every pass once.
        let mut taken = vec![false; self.layers.len()];
        let of_layer = |layer| self.compare_layer(prescription, layer, &mut taken, may_be_strange);
        (prescription.layers.iter().map(of_layer).collect(), taken)
    }

    fn compare_layer(
        &self,
        prescription: &Prescription,
        layer: &RateLayer,
        taken: &mut [bool],
        may_be_strange: bool,
    ) -> Comparison {
        let got = OfPrescription { prescription, layer };
        let mut best: Option<(f64, usize)> = None;
        for (index, planned) in self.layers.iter().enumerate() {
            let plan_layer = &planned.prescription.layers[0];
            let of_plan = OfPrescription { prescription: &planned.prescription, layer: plan_layer };
            let same = |a: &str, b: &str| a.trim().eq_ignore_ascii_case(b.trim());
            let product = match (&layer.product, &plan_layer.product) {
                // Names may have been cut to what the format holds.
                (Some(ours), Some(plan)) => same(ours, plan) || (ours.len() >= 8 && plan.starts_with(ours.as_str())),
                _ => false,
            };
            let other_product = !product && layer.product.is_some() && plan_layer.product.is_some();
            let name = same(&layer.name, &plan_layer.name)
                || planned.pass.as_deref().is_some_and(|pass| layer.name.to_lowercase().contains(&pass.to_lowercase()));
            let likeness = likeness(got, of_plan);
            let is_strange = other_product && likeness < 0.9 || !product && !name && likeness < LEAST_LIKENESS;
            if may_be_strange && is_strange {
                continue;
            }
            let points = likeness + 4.0 * f64::from(product) + 2.0 * f64::from(name) - f64::from(taken[index]);
            if best.is_none_or(|(most, _)| points > most) {
                best = Some((points, index));
            }
        }
        let Some((_, index)) = best else {
            let message = format!("`{}` belongs to no planned pass of `{}`", layer.name, self.folder);
            let finding = Diagnostic::error(&LAYER_WITHOUT_PLAN, message).at(Place::File(prescription.name.clone()));
            return Comparison { words: Vec::new(), findings: vec![finding] };
        };
        taken[index] = true;
        let planned = &self.layers[index].prescription;
        compare(
            got,
            OfPrescription { prescription: planned, layer: &planned.layers[0] },
            &self.contents,
            !may_be_strange,
        )
    }

    /// Planned passes no layer belonged to.
    pub(super) fn left_over(&self) -> Vec<Diagnostic> {
        let left = self.layers.iter().filter(|planned| !planned.is_taken);
        left.map(|planned| {
            let message = format!("the planned pass `{}` is not there", planned.prescription.layers[0].name);
            Diagnostic::warning(&PLAN_WITHOUT_LAYER, message).at(Place::File(planned.prescription.name.clone()))
        })
        .collect()
    }
}

/// Every product with its contents, wherever the record lists them.
fn gather_contents(value: &Value, contents: &mut Contents) {
    match value {
        Value::Object(members) => {
            if let Some(Value::Object(percents)) = members.get("content_percent") {
                let product = members.get("product").or_else(|| members.get("name")).and_then(Value::as_str);
                let product = product.unwrap_or("the product").to_owned();
                let found = percents.iter().filter_map(|(nutrient, percent)| Some((nutrient, percent.as_f64()?)));
                let rows = found.filter(|(_, percent)| *percent > 0.0);
                contents.extend(rows.map(|(nutrient, percent)| (product.clone(), nutrient.clone(), percent)));
            }
            members.values().for_each(|member| gather_contents(member, contents));
        }
        Value::Array(items) => items.iter().for_each(|item| gather_contents(item, contents)),
        _ => (),
    }
}
