//! Names that try to be markup, to turn the line around and to burst it stay text, and nothing of them is lost.

use std::path::Path;

use super::paper::{letters, pdf_letters};
use super::{check_accessible, check_quiet_and_narrow, run_and_look};

const SCRIPT: &str = "<script>alert(1)</script>";
/// Hebrew, the second word after a right-to-left override that is never taken back.
const TURNED: &str = "\u{5e9}\u{5d3}\u{5d4} \u{202e}\u{5e6}\u{5e4}\u{5d5}\u{5df}";
const EMOJI: &str = "\u{1f33d}";

/// The demo with names that try to be markup, to turn the line around and to burst it.
fn hostile(place: &Path) {
    let long = "W".repeat(200);
    let field = place.join("field.toml");
    let mut text = std::fs::read_to_string(&field).unwrap();
    let names = [
        ("\"Three-soils field (invented)\"", format!("\"{SCRIPT} \\\" ' & ]]> {TURNED} {EMOJI} {long}\"")),
        ("units = \"us\"", "units = \"si\"".to_owned()),
        ("\"Ag lime\"", format!("\"Lime {SCRIPT} \\\" ' ]]> {TURNED}\"")),
        ("\"MAP 11-52-0\"", format!("\"MAP {EMOJI} &amp; {long}\"")),
        ("\"Potash 0-0-60\"", "'Potash \"><img src=x onerror=alert(2)> 0-0-60'".to_owned()),
        ("name = \"After soybean\"", format!("name = \"After {SCRIPT} {TURNED}\"")),
        ("name = \"Before corn\"", format!("name = \"{long}\"")),
        ("window = \"April\"", format!("window = \"{EMOJI} </title>{SCRIPT}\"")),
        ("invented figures of a local guide", format!("{SCRIPT} ]]> {TURNED} {EMOJI} {long}")),
        ("count = 3 ", "# ".to_owned()),
        ("from = [\"cec\"", "# ".to_owned()),
        (
            "method = \"k-means\"",
            "method = \"polygons\"\npolygons = { file = \"zones.geojson\", name = \"NAME\" }".to_owned(),
        ),
    ];
    for (known, hostile) in names {
        assert!(text.contains(known), "the demo has no {known}");
        text = text.replace(known, &hostile);
    }
    std::fs::write(field, text).unwrap();
    let sheet = place.join("lab.csv");
    let text = std::fs::read_to_string(&sheet).unwrap();
    let text =
        text.replace("G-08", &format!("\"{SCRIPT}\"\" ' ]]>\"")).replace("H-08", &format!("\"{TURNED}{EMOJI}{long}\""));
    std::fs::write(sheet, text).unwrap();
    // Three strips from south to north, wider than the field.
    let strip = |name: &str, [south, north]: [f64; 2]| {
        let ring = [[-93.52, south], [-93.48, south], [-93.48, north], [-93.52, north], [-93.52, south]];
        serde_json::json!({"type": "Feature", "properties": {"NAME": name}, "geometry": {"type": "Polygon", "coordinates": [ring]}})
    };
    let strips = [
        strip(&format!("{SCRIPT} \" ' & ]]>"), [40.99, 40.9995]),
        strip(&format!("{TURNED}{EMOJI}"), [40.9995, 41.0025]),
        strip(&long, [41.0025, 41.01]),
    ];
    let zones = serde_json::json!({"type": "FeatureCollection", "features": strips});
    std::fs::write(place.join("zones.geojson"), zones.to_string()).unwrap();
}

#[test]
fn hostile_names_stay_text_and_nothing_is_lost() {
    let Some(seen) = run_and_look("hostile", hostile) else { return };
    check_quiet_and_narrow(&seen);
    check_accessible(&seen);
    let long = "W".repeat(200);
    let told = &seen.told["with_script"];
    let page = told["first"].as_str().unwrap();
    assert_eq!(told["checked"][1], serde_json::json!(["units-si", true]));
    assert!(page.contains("kg/ha"));
    // The name as typed, but for the mark that would turn what follows it.
    let name = format!("{SCRIPT} \" ' & ]]> {TURNED} {EMOJI} {long}").replace('\u{202e}', "");
    assert_eq!(told["title"].as_str(), Some(name.as_str()));
    assert_eq!(told["heading"].as_str(), Some(name.as_str()));
    let html = std::fs::read_to_string(seen.out.join("grower.html")).unwrap();
    assert!(!html.contains('\u{202e}'), "a name would turn the rates after it");
    let potash = "Potash \"><img src=x onerror=alert(2)> 0-0-60";
    for words in [potash, &format!("{EMOJI} </title>{SCRIPT}"), &format!("Lime {SCRIPT} \" ' ]]>"), &long] {
        assert!(page.contains(words), "{words}");
    }
    let picture = image::open(seen.out.join("grower.png")).unwrap();
    assert!(picture.height() > 1500);
    let prints = ["prints/A4.pdf", "out/grower.pdf"];
    for file in prints {
        let file = seen.prints.parent().unwrap().join(file);
        let Some(pdf) = pdf_letters(&file) else { return };
        let hebrew: Vec<String> = TURNED.split_whitespace().map(letters).collect();
        for word in [SCRIPT, "\"'&]]>", &letters(potash), &long, &hebrew[0], &hebrew[1]] {
            assert!(pdf.contains(&letters(word)), "{file:?} lacks {word}");
        }
        let heading = pdf.find("6.Beforeanyonespreads").expect("the last question");
        assert!(pdf[heading..].contains("run_record.json"), "the foot");
    }
    let pdf = pdf_letters(&seen.out.join("grower.pdf")).unwrap();
    assert!(pdf.contains(EMOJI), "from the bundled font");
}
