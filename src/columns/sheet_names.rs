//! Names of what is no measurement: sample, place, depth, day, use of the ground, what was spread.
//!
//! English, and the French and German of the sheets in the field notes; further names from memory.

use super::header_words::{Word, squeezed};
use super::name::Name;

const WHO: &str = "says whose or which ground it is, not which sample";
const LAB_DAY: &str = "a day at the lab, not the day the cores were taken";

const NAMES: &[(Name, &[&str])] = &[
    (
        Name::SampleId(0),
        &[
            "sampleid",
            "sampid",
            "samplename",
            "sample",
            "samplenumber",
            "sampleno",
            "samplenr",
            "fmissampleid",
            "sampleidentification",
            "samplelabel",
            "sampno",
            "customersampleid",
            "clientsampleid",
            "yoursampleid",
            "id",
            "noech",
            "nodechantillon",
            "noechantillon",
            "echantillon",
            "refechantillon",
            "probe",
            "probenr",
            "probennummer",
            "probenbezeichnung",
            "muestra",
            "nomuestra",
            "amostra",
            "noamostra",
            "identificacao",
            "sampleidno",
        ],
    ),
    (
        Name::SampleId(1),
        &[
            "samplelocation",
            "location",
            "point",
            "pointid",
            "site",
            "siteid",
            "place",
            "ort",
            "core",
            "gridid",
            "grid",
            "zone",
            "zoneid",
            "ponto",
            "punto",
        ],
    ),
    (
        Name::SampleId(2),
        &[
            "field",
            "fieldid",
            "fieldname",
            "paddock",
            "parcelle",
            "parcel",
            "plot",
            "plotid",
            "block",
            "schlag",
            "lote",
            "talhao",
            "parcela",
            "potrero",
        ],
    ),
    (
        Name::SampleId(3),
        &[
            "labno",
            "labnumber",
            "labid",
            "labnr",
            "labsampleid",
            "labsampleno",
            "labnum",
            "nolabo",
            "nodelabo",
            "labornummer",
            "labref",
            "nolaboratoire",
            "labor",
        ],
    ),
    (
        Name::Longitude,
        &[
            "long",
            "longitude",
            "lon",
            "lng",
            "gpslong",
            "gpslon",
            "gpslongitude",
            "longdd",
            "londd",
            "longdeg",
            "longitud",
        ],
    ),
    (Name::Latitude, &["lat", "latitude", "gpslat", "gpslatitude", "latdd", "latdeg", "latitud"]),
    (Name::X, &["x", "xcoord", "xcoordinate", "coordx", "pointx", "gpsx"]),
    (Name::Y, &["y", "ycoord", "ycoordinate", "coordy", "pointy", "gpsy"]),
    (
        Name::Easting,
        &["easting", "eastings", "utme", "utmeasting", "utmx", "xm", "xutm", "rechtswert", "ostwert", "east"],
    ),
    (
        Name::Northing,
        &["northing", "northings", "utmn", "utmnorthing", "utmy", "ym", "yutm", "hochwert", "nordwert", "north"],
    ),
    (
        Name::SampledOn(0),
        &[
            "datesampled",
            "sampledate",
            "samplingdate",
            "sampledon",
            "sampled",
            "datetaken",
            "datecollected",
            "collectiondate",
            "datedeprelevement",
            "dateprelevement",
            "probenahme",
            "probenahmedatum",
            "fechademuestreo",
            "datadacoleta",
            "datadecoleta",
        ],
    ),
    (Name::SampledOn(1), &["date", "datum", "fecha", "data", "eventdate"]),
    (
        Name::NoQuantity(LAB_DAY),
        &[
            "datereceived",
            "received",
            "datereported",
            "reportdate",
            "datereport",
            "dateanalyzed",
            "datetested",
            "analysisdate",
            "dateprinted",
            "reported",
            "dateprocessed",
        ],
    ),
    (
        Name::Cores,
        &[
            "cores",
            "noofcores",
            "nocores",
            "ncores",
            "numberofcores",
            "corecount",
            "coresno",
            "subsamples",
            "einstiche",
            "numcores",
        ],
    ),
    (Name::Status, &["status", "use", "landuse", "landstatus", "nutzung", "usage", "occupationdusol", "uso"]),
    (Name::Crop, &["crop", "cropname", "culture", "kultur", "cultivo", "cultura", "fruchtart"]),
    (
        Name::Programme,
        &[
            "programme",
            "program",
            "applied",
            "fertilizer",
            "fertiliser",
            "fertilization",
            "fertilisation",
            "fertilizers",
            "treatment",
            "treated",
            "dungung",
            "adubacao",
            "manure",
            "spread",
        ],
    ),
    (
        Name::NoQuantity(WHO),
        &[
            "grower",
            "farm",
            "client",
            "customer",
            "account",
            "accountno",
            "county",
            "state",
            "township",
            "company",
            "owner",
            "growername",
            "farmname",
            "clientname",
            "farmer",
            "betrieb",
            "exploitation",
        ],
    ),
    (Name::NoQuantity("a year, not a day"), &["year", "annee", "jahr", "ano", "season", "cropyear"]),
    (
        Name::NoQuantity("the crop before or to come: not a measurement"),
        &["previouscrop", "prevcrop", "lastcrop", "nextcrop", "intendedcrop", "cropcode"],
    ),
    (Name::NoQuantity("a yield goal, not a measurement"), &["yieldgoal", "goal"]),
    (Name::NoQuantity("an area, not a measurement"), &["acres", "acreage", "hectares", "area", "ha", "surface"]),
    (
        Name::NoQuantity("names the coordinate system; state it with the places"),
        &["epsg", "crs", "datumcrs", "utmzone", "projection"],
    ),
    (Name::NoQuantity("height of the ground"), &["elevation", "elev", "altitude", "cota", "alt", "z", "hohe"]),
    (
        Name::NoQuantity("a row or column of a plan; if it counts meters, say so with the places"),
        &["linha", "coluna", "row", "column", "line", "ligne", "colonne", "fila", "columna", "range"],
    ),
    (
        Name::NoQuantity("a remark"),
        &["comment", "comments", "remark", "remarks", "notes", "note", "bemerkung", "remarque", "observaciones"],
    ),
];

/// Names of depths, the unit of length taken out.
const DEPTH_NAMES: &[(Name, &[&str])] = &[
    (
        Name::DepthTop,
        &[
            "bdepth",
            "begindepth",
            "beginningdepth",
            "beginingdepth",
            "depthfrom",
            "fromdepth",
            "topdepth",
            "depthtop",
            "startdepth",
            "startingdepth",
            "depthstart",
            "upperdepth",
            "depthupper",
            "depthmin",
            "profmin",
            "tiefevon",
            "top",
        ],
    ),
    (
        Name::DepthBottom,
        &[
            "edepth",
            "enddepth",
            "endingdepth",
            "depthto",
            "todepth",
            "bottomdepth",
            "depthbottom",
            "lowerdepth",
            "depthlower",
            "depthend",
            "depthmax",
            "profmax",
            "tiefebis",
            "bottom",
            "depth",
            "sampledepth",
            "samplingdepth",
            "soildepth",
            "coredepth",
            "profondeur",
            "prof",
            "tiefe",
            "probentiefe",
            "entnahmetiefe",
            "profundidad",
            "profundidade",
        ],
    ),
];

/// Lengths a depth may be in, as printed.
const LENGTHS: [&str; 9] = ["in", "inch", "inches", "cm", "centimeters", "mm", "m", "ft", "feet"];

/// A name of the sheet's own matters; of a depth also the word of its unit.
pub(super) fn sheet_name(words: &[Word]) -> Option<(Name, Option<Word>)> {
    let text = squeezed(words);
    if let Some((name, _)) = NAMES.iter().find(|(_, names)| names.contains(&text.as_str())) {
        return Some((*name, None));
    }
    let depth = |text: &str| DEPTH_NAMES.iter().find(|(_, names)| names.contains(&text)).map(|(name, _)| *name);
    if let Some(name) = depth(&text) {
        return Some((name, None));
    }
    let (length, rest) = words.split_last()?;
    if !LENGTHS.contains(&length.text.as_str()) {
        return None;
    }
    depth(&squeezed(rest)).map(|name| (name, Some(length.clone())))
}

/// Whether a name alone could as well be a cell: `Top` is a field, too.
pub(super) fn could_be_a_cell(squeezed: &str) -> bool {
    matches!(squeezed, "top" | "bottom" | "data" | "north" | "east" | "core" | "goal" | "treated" | "spread" | "manure")
}

/// Whether a header tells what was spread: `lb K2O applied`, `Fertilizer 2024`.
pub(super) fn is_programme(words: &[Word]) -> bool {
    const SPREAD: [&str; 8] =
        ["applied", "fertilizer", "fertiliser", "fertilizers", "fertilizantes", "engrais", "manure", "dungung"];
    words.iter().any(|word| SPREAD.contains(&word.text.as_str()))
}

#[cfg(test)]
mod tests {
    use super::super::header_words::{pieces, words};
    use super::*;

    fn name(header: &str) -> Option<Name> {
        sheet_name(&words(&pieces(header))).map(|(name, _)| name)
    }

    #[test]
    fn no_name_stands_for_two_things() {
        let tables = NAMES.iter().chain(DEPTH_NAMES);
        let mut all: Vec<&str> = tables.flat_map(|(_, names)| names.iter().copied()).collect();
        let n_names = all.len();
        all.sort_unstable();
        all.dedup();
        assert_eq!(all.len(), n_names);
    }

    #[test]
    fn ids_depths_and_days_are_known_however_written() {
        for header in ["Sample ID", "SampleID", "sample_id", "Samp ID", "FMISSampleID", "No éch.", "Sample #"] {
            assert_eq!(name(header), Some(Name::SampleId(0)), "{header}");
        }
        assert_eq!(name("Lab #"), Some(Name::SampleId(3)));
        assert_eq!(name("Depth From (cm)"), Some(Name::DepthTop));
        assert_eq!(name("Sample Depth in"), Some(Name::DepthBottom));
        assert_eq!(name("Sampling date"), Some(Name::SampledOn(0)));
        assert_eq!(name("In depth"), None);
        let (_, length) = sheet_name(&words(&pieces("depth_in"))).unwrap();
        assert_eq!(length.unwrap().text, "in");
    }
}
