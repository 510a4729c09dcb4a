//! GeoJSON by RFC 7946: longitude and latitude, exterior rings counter-clockwise, 7 decimals, bbox, stable ids.

use geojson::feature::Id;
use geojson::{Feature, FeatureCollection, GeometryValue, JsonObject, JsonValue, Position};

use super::ZoneShape;
use crate::rates::rate_plan::PassPlan;
use crate::units::M2_PER_ACRE;
use crate::zones::ZoneSummary;

/// Zones with their figures.
pub fn zones_geo_json(shapes: &[ZoneShape], zones: &[ZoneSummary], field: &str, area_m2: f64) -> String {
    let properties = |zone: usize| {
        let summary = &zones[zone - 1];
        let mut properties = JsonObject::new();
        properties.insert("ZONE".to_owned(), zone.into());
        properties.insert("AREA_AC".to_owned(), figure(summary.share * area_m2 / M2_PER_ACRE, 2));
        properties.insert("SAMPLES".to_owned(), summary.n_sites.into());
        if let Some(holding) = summary.holding {
            properties.insert("HOLDS".to_owned(), holding.words().into());
        }
        for (variable, mean) in &summary.means {
            properties.insert(variable.key().to_uppercase(), figure(*mean, variable.decimals() + 1));
        }
        properties
    };
    let mut about = JsonObject::new();
    about.insert("field".to_owned(), field.into());
    about.insert("order".to_owned(), "zone 1 holds least".into());
    collection(shapes, properties, about)
}

/// Rates of one pass. Zones without a rate are there with rate 0.
pub fn rates_geo_json(shapes: &[ZoneShape], plan: &PassPlan, field: &str, issued: Option<&str>) -> String {
    let properties = |zone: usize| {
        let rate = &plan.rates[zone - 1];
        let mut properties = JsonObject::new();
        properties.insert("ZONE".to_owned(), zone.into());
        properties.insert("RATE".to_owned(), figure(rate.product_lb_ac, 2));
        properties.insert("UNIT".to_owned(), "lb/ac".into());
        properties.insert("PRODUCT".to_owned(), plan.product.name.as_str().into());
        properties.insert("PASS".to_owned(), plan.pass.name.as_str().into());
        properties.insert("AREA_AC".to_owned(), figure(rate.area_ac, 2));
        properties.insert("WHY".to_owned(), rate.why.as_str().into());
        properties
    };
    let mut about = JsonObject::new();
    about.insert("field".to_owned(), field.into());
    about.insert("rates".to_owned(), "pounds of product an acre, not of nutrient".into());
    about.insert("outlines".to_owned(), "along the cells of the map: up to half a cell off the field's edge".into());
    about.insert("total_lb".to_owned(), figure(plan.total_lb(), 1));
    if let Some(issued) = issued {
        about.insert("issued".to_owned(), issued.into());
    }
    about.insert("caution".to_owned(), super::summary::CAUTION.into());
    collection(shapes, properties, about)
}

fn collection(shapes: &[ZoneShape], properties: impl Fn(usize) -> JsonObject, about: JsonObject) -> String {
    let mut bbox = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
    let mut features = Vec::new();
    for shape in shapes {
        let mut own = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
        for &(lon, lat) in shape.patches.iter().flatten().flatten() {
            own = [own[0].min(lon), own[1].min(lat), own[2].max(lon), own[3].max(lat)];
        }
        bbox = [bbox[0].min(own[0]), bbox[1].min(own[1]), bbox[2].max(own[2]), bbox[3].max(own[3])];
        let coordinates = shape
            .patches
            .iter()
            .map(|rings| {
                let ring = |ring: &Vec<(f64, f64)>| ring.iter().map(|&(lon, lat)| Position::from([lon, lat])).collect();
                rings.iter().map(ring).collect()
            })
            .collect();
        features.push(Feature {
            bbox: Some(own.to_vec()),
            geometry: Some(GeometryValue::MultiPolygon { coordinates }.into()),
            id: Some(Id::Number(shape.zone.into())),
            properties: Some(properties(shape.zone)),
            foreign_members: None,
        });
    }
    let mut members = JsonObject::new();
    members.insert("holdground".to_owned(), JsonValue::Object(about));
    let bbox = (!shapes.is_empty()).then(|| bbox.to_vec());
    let mut text = FeatureCollection { bbox, features, foreign_members: Some(members) }.to_string();
    text.push('\n');
    text
}

/// A figure rounded for print; JSON has no NaN.
fn figure(value: f64, decimals: usize) -> JsonValue {
    let scale = 10_f64.powi(decimals as i32);
    let rounded = (value * scale).round() / scale;
    if rounded.is_finite() { rounded.into() } else { JsonValue::Null }
}
