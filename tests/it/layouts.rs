//! Eleven header layouts of lab sheets (field notes; all rows invented): every column is what it should be, in the
//! program's unit, and the trap of each layout is not fallen into.

use holdground::chemistry::Cation;
use holdground::columns::{ColumnReading, DepthUnit, Found, Role, understand};
use holdground::samples::{Analyte, DecimalMark, LabMethod, NumberForm, Row, SampleTable};
use holdground::units::{LabUnit, SoilBasis};

use crate::check_close;

/// Furrow slice, lb/ac: the soil behind the worked figures of pounds an acre and kilograms a hectare.
const SOIL_LB_AC: f64 = 2e6;
pub(crate) const POINT: NumberForm = NumberForm { decimal: DecimalMark::Point, words: Vec::new() };
pub(crate) const COMMA: NumberForm = NumberForm { decimal: DecimalMark::Comma, words: Vec::new() };

pub(crate) const LAYOUTS: [(&str, char, &[&str]); 11] = [
    (
        "Lab No,Sample ID,Soil pH,Buffer pH (SMP),OM %,P Bray-1 ppm,K ppm,Mg ppm,Ca ppm,Na ppm,CEC,%K,%Mg,%Ca,%H,%Na",
        ',',
        &[
            "10231,A-07,6.9,,2.8,24,141,232,2150,9,13.1,2.8,14.8,82.2,0,.3",
            "10232,A-08,5.8,6.7,2.6,<5,118,205,1480,8,13.0,2.3,13.1,56.7,27.6,.3",
        ],
    ),
    (
        "Sample Location,Sample Depth in,Total Exchange Capacity (ME/100 g),pH (H2O 1:1),OM %,Ca Desired Value lb/A,Ca Value Found,Ca Deficit,Mg Desired Value,Mg Value Found,K Value Found,Na Value Found,Ca %,Mg %,K %,Na %,Other Bases %,Exch. Hydrogen %",
        ',',
        &["South end,6.7,15.0,6.3,2.9,4080,3840,-240,432,464,257,34,64.0,12.9,2.2,0.5,5.2,15.2"],
    ),
    (
        "Samp ID,B Depth,E Depth,1:1 pH,Woodruff BpH,1:1 Salts mmho/cm,Excess Lime,OM LOI %,NO3-N ppm,Lbs N/A,Olsen P ppm,K ppm,CEC Sum",
        ',',
        &["012,0,8,7.8,7.2,0.45,HI,2.3,9.1,22,8,312,24.9", "012,8,24,,,,,,5.2,25,,,"],
    ),
    (
        "Sample,Soil Class,HM%,W/V,CEC,BS%,Ac,pH,P-I,K-I,Ca%,Mg%,S-I,Mn-I,Zn-I,ESP",
        ',',
        &["R12,MIN,0.36,1.25,5.9,74,1.5,5.6,62,38,52,18,31,140,77,1"],
    ),
    (
        "Lab #,Field,pH CaCl2,Equiv. Water pH,LBC ppm CaCO3/pH,Lime Req t/ac,P lbs/A M1,K lbs/A M1,Ca lbs/A,Mg lbs/A",
        ',',
        &["4471,3B,5.12,5.72,245,0.75,44,118,780,96"],
    ),
    (
        "Sample #,pH,pH-Buffer,O.M.,P-Bicarb ppm,P-Bray ppm,K ppm,Mg ppm,Ca ppm,CEC,% K,% Mg,% Ca,% H,K/Mg Ratio",
        ',',
        &["7,6.2,6.8,3.1 M,18 M,24 M,128 M,225 H,1900 M,14.1,2.3,13.3,67.4,17.0,0.57"],
    ),
    (
        "No éch.;pH eau;pH tampon;M.O. %;P kg/ha;K kg/ha;Ca kg/ha;Mg kg/ha;Al ppm;P/Al %;C.E.C. meq/100 g;Sat. K %;Sat. Ca %;Sat. Mg %",
        ';',
        &["12;6,2;6,75;4,1;112;287;4256;504;1020;4,9;14,8;2,2;64,3;12,7"],
    ),
    (
        "Sample Name,Depth From (cm),Depth To (cm),Texture,PBI,P Colwell mg/kg,K Colwell mg/kg,S KCl-40,OC % W&B,EC 1:5 dS/m,pH 1:5 CaCl2,pH 1:5 Water,Exc Al cmol(+)/kg,Exc Ca,Exc Mg,Exc K,Exc Na,ECEC,ESP %",
        ',',
        &["Pdk3-1,0,10,SL,92,31,172,<2,1.4,0.08,4.9,5.7,0.12,5.82,2.41,0.44,0.31,9.10,3.4"],
    ),
    (
        "Probe;Bodenart;Humus %;pH (CaCl2);P2O5 (CAL) mg/100g;K2O (CAL) mg/100g;Mg (CaCl2) mg/100g;Gehaltsklasse P;Gehaltsklasse K",
        ';',
        &["1/24;uL;2,4;6,1;11;14;9;C;C"],
    ),
    (
        "Parcelle;pH eau;CaCO3 total g/kg;MO g/kg;CEC Metson cmol+/kg;P2O5 Olsen g/kg;K2O éch. g/kg;MgO éch. g/kg;CaO éch. g/kg;Na2O g/kg;S/T %",
        ';',
        &["La Combe;6,7;<1;24;13,4;0,062;0,21;0,18;3,10;0,03;94"],
    ),
    ("Field,pH,P Index,K Index,Mg Index,P mg/l,K mg/l,Mg mg/l", ',', &["Top,6.4,2,2-,3,21,148,121"]),
];

pub(crate) fn table(header: &str, mark: char, rows: &[&str]) -> SampleTable {
    let cells = |line: &str| line.split(mark).map(|cell| cell.trim().to_owned()).collect::<Vec<_>>();
    let rows = rows.iter().enumerate().map(|(n, row)| Row { line: n + 2, cells: cells(row) }).collect();
    SampleTable {
        file: "invented.csv".into(),
        header: cells(header),
        rows,
        samples_in: holdground::sheet::SamplesIn::Rows,
    }
}

/// A sheet with its readings.
pub(crate) struct Understood {
    pub(crate) table: SampleTable,
    pub(crate) form: NumberForm,
    pub(crate) readings: Vec<ColumnReading>,
}

impl Understood {
    pub(crate) fn layout(number: usize) -> Self {
        let (header, mark, rows) = LAYOUTS[number - 1];
        Self::of(table(header, mark, rows), if mark == ';' { COMMA } else { POINT })
    }

    pub(crate) fn of(table: SampleTable, form: NumberForm) -> Self {
        let readings = understand(&table, &form);
        assert_eq!(readings.len(), table.header.len());
        for (index, reading) in readings.iter().enumerate() {
            assert_eq!((reading.index, &reading.column), (index, &table.header[index]));
            assert!(!reading.why.is_empty() && !reading.why.ends_with('.'), "{reading:?}");
        }
        Understood { table, form, readings }
    }

    #[track_caller]
    fn column(&self, header: &str) -> &ColumnReading {
        self.readings.iter().find(|reading| reading.column == header).unwrap_or_else(|| panic!("no column `{header}`"))
    }

    #[track_caller]
    fn role(&self, header: &str) -> &Role {
        &self.column(header).role
    }

    #[track_caller]
    fn aside(&self, header: &str) -> &str {
        match self.role(header) {
            Role::LeftAside(reason) => reason,
            role => panic!("`{header}` is {role:?}"),
        }
    }

    /// Analyte key, unit and method names (`?` where open) of a column.
    #[track_caller]
    pub(crate) fn told(&self, header: &str) -> (&'static str, String, &'static str) {
        match self.role(header) {
            Role::Analyte { analyte, unit, method } => (
                analyte.key(),
                unit.value().map_or("?".to_owned(), LabUnit::name),
                method.value().map_or("?", LabMethod::name),
            ),
            role => panic!("`{header}` is {role:?}"),
        }
    }

    /// One analyte column: what it is, and its first value in the program's unit.
    #[track_caller]
    fn check(&self, header: &str, key: &str, unit: &str, method: &str, value: f64) {
        assert_eq!(self.told(header), (key, unit.to_owned(), method_name(method)), "`{header}`");
        let expected = value.abs().max(1e-9);
        check_close(
            self.value(header, 0).unwrap_or_else(|| panic!("no value under `{header}`")),
            value,
            1e-3 * expected,
        );
    }

    /// A value in the program's unit, a rating beside the number left aside.
    fn value(&self, header: &str, row: usize) -> Option<f64> {
        let reading = self.column(header);
        let Role::Analyte { analyte, unit, .. } = &reading.role else { return None };
        let cell = self.table.rows[row].cells[reading.index].trim_end_matches(|c: char| c.is_alphabetic() || c == ' ');
        Some(self.form.reading(cell)?.value * unit.value()?.factor(analyte.quantity(), SOIL_LB_AC)?)
    }

    /// A cation's value in ppm.
    fn ppm(&self, header: &str, cation: Cation) -> f64 {
        self.value(header, 0).unwrap() * cation.ppm_per_meq()
    }

    /// No column measures this.
    #[track_caller]
    fn has_no(&self, analyte: Analyte) {
        let found = self.readings.iter().find(|r| matches!(&r.role, Role::Analyte { analyte: a, .. } if *a == analyte));
        assert!(found.is_none(), "{found:?}");
    }
}

/// A method's printed name; `?` stays.
fn method_name(text: &str) -> &'static str {
    if text == "?" { "?" } else { LabMethod::parse(text).unwrap_or_else(|| panic!("no method {text}")).name() }
}

#[test]
fn layout_1_midwest_with_blank_buffer() {
    let sheet = Understood::layout(1);
    assert_eq!(sheet.role("Sample ID"), &Role::SampleId);
    assert!(sheet.aside("Lab No").contains("Sample ID"));
    sheet.check("Soil pH", "ph_water", "pH", "?", 6.9);
    assert_eq!(sheet.told("Buffer pH (SMP)"), ("buffer_ph", "pH".into(), "smp"));
    assert_eq!((sheet.value("Buffer pH (SMP)", 0), sheet.value("Buffer pH (SMP)", 1)), (None, Some(6.7)));
    sheet.check("OM %", "organic_matter", "%", "?", 2.8);
    sheet.check("P Bray-1 ppm", "p", "ppm", "bray-1", 24.0);
    sheet.check("K ppm", "k", "ppm", "?", 141.0 / Cation::K.ppm_per_meq());
    sheet.check("Mg ppm", "mg", "ppm", "?", 232.0 / Cation::Mg.ppm_per_meq());
    sheet.check("Ca ppm", "ca", "ppm", "?", 2150.0 / Cation::Ca.ppm_per_meq());
    sheet.check("Na ppm", "na", "ppm", "?", 9.0 / Cation::Na.ppm_per_meq());
    // One neutral row does not show how the lab came to its CEC.
    sheet.check("CEC", "cec", "meq/100g", "?", 13.1);
    for (header, key, value) in
        [("%K", "k", 2.8), ("%Mg", "mg", 14.8), ("%Ca", "ca", 82.2), ("%H", "acidity", 0.0), ("%Na", "na", 0.3)]
    {
        sheet.check(header, &format!("{key}_saturation"), "%", "calculated", value);
    }
}

#[test]
fn layout_2_base_saturation_sheet_takes_found_never_desired() {
    let sheet = Understood::layout(2);
    assert_eq!(sheet.role("Sample Location"), &Role::SampleId);
    assert_eq!(sheet.role("Sample Depth in"), &Role::DepthBottom(Found::Printed(DepthUnit::Inches, "in".into())));
    sheet.check("Total Exchange Capacity (ME/100 g)", "cec", "meq/100g", "summation", 15.0);
    let Role::Analyte { method, .. } = sheet.role("Total Exchange Capacity (ME/100 g)") else { unreachable!() };
    assert!(matches!(method, Found::Inferred(LabMethod::Summation, _)));
    sheet.check("pH (H2O 1:1)", "ph_water", "pH", "water", 6.3);
    for header in ["Ca Desired Value lb/A", "Ca Deficit", "Mg Desired Value"] {
        assert!(sheet.aside(header).contains("not what was found"), "{header}");
    }
    // Pounds an acre in 2,000,000 lb are twice the ppm [A].
    check_close(sheet.ppm("Ca Value Found", Cation::Ca), 1920.0, 0.5);
    sheet.check("Mg Value Found", "mg", "lb/ac", "?", 232.0 / Cation::Mg.ppm_per_meq());
    sheet.check("K Value Found", "k", "lb/ac", "?", 128.5 / Cation::K.ppm_per_meq());
    sheet.check("Na Value Found", "na", "lb/ac", "?", 17.0 / Cation::Na.ppm_per_meq());
    let Role::Analyte { unit, .. } = sheet.role("K Value Found") else { unreachable!() };
    assert_eq!(unit, &Found::Inferred(LabUnit::LB_AC, "as `Ca Desired Value lb/A`".into()));
    sheet.check("Ca %", "ca_saturation", "%", "calculated", 64.0);
    sheet.check("Other Bases %", "other_saturation", "%", "calculated", 5.2);
    sheet.check("Exch. Hydrogen %", "acidity_saturation", "%", "calculated", 15.2);
}

#[test]
fn layout_3_plains_with_two_depths_and_a_dummy_buffer() {
    let sheet = Understood::layout(3);
    assert_eq!(sheet.role("Samp ID"), &Role::SampleId);
    // No unit of length is printed: 8 may be inches or centimeters.
    assert_eq!(sheet.role("B Depth"), &Role::DepthTop(Found::NotPrinted));
    assert_eq!(sheet.role("E Depth"), &Role::DepthBottom(Found::NotPrinted));
    sheet.check("1:1 pH", "ph_water", "pH", "water", 7.8);
    sheet.check("Woodruff BpH", "buffer_ph", "pH", "woodruff", 7.2);
    assert!(sheet.column("Woodruff BpH").why.contains("did not run the buffer"));
    sheet.check("1:1 Salts mmho/cm", "ec", "dS/m", "1:1", 0.45);
    assert_eq!(sheet.told("Excess Lime").0, "excess_lime");
    sheet.check("OM LOI %", "organic_matter", "%", "loss on ignition", 2.3);
    sheet.check("NO3-N ppm", "nitrate_n", "ppm", "?", 9.1);
    assert!(sheet.aside("Lbs N/A").contains("pounds"));
    sheet.check("Olsen P ppm", "p", "ppm", "olsen", 8.0);
    sheet.check("K ppm", "k", "ppm", "?", 312.0 / Cation::K.ppm_per_meq());
    sheet.check("CEC Sum", "cec", "meq/100g", "summation", 24.9);
}

#[test]
fn layout_4_carolina_indices_are_no_ppm() {
    let sheet = Understood::layout(4);
    assert_eq!(sheet.role("Sample"), &Role::SampleId);
    for header in ["P-I", "K-I", "S-I", "Mn-I", "Zn-I"] {
        assert_eq!(sheet.aside(header), "an index, not an amount", "{header}");
    }
    for analyte in [Analyte::P, Analyte::K, Analyte::S, Analyte::Mn, Analyte::Zn, Analyte::OrganicMatter] {
        sheet.has_no(analyte);
    }
    assert!(sheet.aside("HM%").contains("humic"));
    assert!(sheet.aside("W/V").contains("weight by volume"));
    assert!(sheet.aside("Soil Class").contains("class"));
    sheet.check("CEC", "cec", "cmolc/dm3", "?", 5.9);
    let Role::Analyte { unit, .. } = sheet.role("CEC") else { unreachable!() };
    assert_eq!(unit.value().unwrap().basis(), Some(SoilBasis::Volume));
    sheet.check("Ac", "acidity", "cmolc/dm3", "?", 1.5);
    sheet.check("BS%", "base_saturation", "%", "calculated", 74.0);
    sheet.check("pH", "ph_water", "pH", "?", 5.6);
    sheet.check("Ca%", "ca_saturation", "%", "calculated", 52.0);
    sheet.check("Mg%", "mg_saturation", "%", "calculated", 18.0);
    sheet.check("ESP", "na_saturation", "%", "calculated", 1.0);
}

#[test]
fn layout_5_georgia_has_neither_buffer_nor_cec() {
    let sheet = Understood::layout(5);
    assert_eq!(sheet.role("Field"), &Role::SampleId);
    assert!(sheet.aside("Lab #").contains("lab's own number"));
    sheet.check("pH CaCl2", "ph_cacl2", "pH", "calcium chloride", 5.12);
    sheet.check("Equiv. Water pH", "ph_water", "pH", "water", 5.72);
    assert!(sheet.column("Equiv. Water pH").why.contains("worked it out"));
    assert!(sheet.aside("LBC ppm CaCO3/pH").contains("lime buffering"));
    assert!(sheet.aside("Lime Req t/ac").contains("lime the lab asks for"));
    sheet.has_no(Analyte::BufferPh);
    sheet.has_no(Analyte::FreeLime);
    sheet.has_no(Analyte::Cec);
    sheet.check("P lbs/A M1", "p", "lb/ac", "mehlich-1", 22.0);
    sheet.check("K lbs/A M1", "k", "lb/ac", "mehlich-1", 59.0 / Cation::K.ppm_per_meq());
    // The extract is printed at P and K only.
    sheet.check("Ca lbs/A", "ca", "lb/ac", "?", 390.0 / Cation::Ca.ppm_per_meq());
    sheet.check("Mg lbs/A", "mg", "lb/ac", "?", 48.0 / Cation::Mg.ppm_per_meq());
}

#[test]
fn layout_6_ontario_with_ratings_beside_numbers_and_two_phosphorus_tests() {
    let sheet = Understood::layout(6);
    assert_eq!(sheet.role("Sample #"), &Role::SampleId);
    sheet.check("pH-Buffer", "buffer_ph", "pH", "?", 6.8);
    sheet.check("O.M.", "organic_matter", "%", "?", 3.1);
    sheet.check("P-Bicarb ppm", "p", "ppm", "olsen", 18.0);
    // Weak or strong Bray is not printed.
    sheet.check("P-Bray ppm", "p_second", "ppm", "?", 24.0);
    assert!(sheet.column("P-Bicarb ppm").why.contains("`P-Bray ppm`"));
    sheet.check("Mg ppm", "mg", "ppm", "?", 225.0 / Cation::Mg.ppm_per_meq());
    sheet.check("CEC", "cec", "meq/100g", "?", 14.1);
    sheet.check("% H", "acidity_saturation", "%", "calculated", 17.0);
    assert_eq!(sheet.aside("K/Mg Ratio"), "a ratio, not an amount");
}

#[test]
fn layout_7_quebec_in_kilograms_a_hectare() {
    let sheet = Understood::layout(7);
    assert_eq!(sheet.role("No éch."), &Role::SampleId);
    sheet.check("pH eau", "ph_water", "pH", "water", 6.2);
    sheet.check("pH tampon", "buffer_ph", "pH", "?", 6.75);
    sheet.check("M.O. %", "organic_matter", "%", "?", 4.1);
    // 287 kg/ha in the furrow slice are 128 ppm (field notes, divide by 2.24) [A].
    assert_eq!(sheet.told("K kg/ha").1, "kg/ha");
    check_close(sheet.ppm("K kg/ha", Cation::K), 128.0, 0.5);
    check_close(sheet.ppm("Ca kg/ha", Cation::Ca), 1900.0, 5.0);
    check_close(sheet.ppm("Mg kg/ha", Cation::Mg), 225.0, 0.5);
    check_close(sheet.value("P kg/ha", 0).unwrap(), 50.0, 0.1);
    sheet.check("Al ppm", "al_extractable", "ppm", "?", 1020.0);
    assert_eq!(sheet.aside("P/Al %"), "a ratio, not an amount");
    sheet.check("C.E.C. meq/100 g", "cec", "meq/100g", "?", 14.8);
    sheet.check("Sat. K %", "k_saturation", "%", "calculated", 2.2);
    sheet.check("Sat. Ca %", "ca_saturation", "%", "calculated", 64.3);
}

#[test]
fn layout_8_australia_with_two_potassium_tests() {
    let sheet = Understood::layout(8);
    assert_eq!(sheet.role("Sample Name"), &Role::SampleId);
    let cm = || Found::Printed(DepthUnit::Centimeters, "cm".into());
    assert_eq!(sheet.role("Depth From (cm)"), &Role::DepthTop(cm()));
    assert_eq!(sheet.role("Depth To (cm)"), &Role::DepthBottom(cm()));
    assert!(sheet.aside("Texture").contains("texture"));
    assert!(sheet.aside("PBI").contains("index"));
    sheet.check("P Colwell mg/kg", "p", "ppm", "colwell", 31.0);
    sheet.check("K Colwell mg/kg", "k_second", "ppm", "colwell", 172.0);
    assert_eq!(sheet.told("S KCl-40"), ("s", "?".into(), "kcl-40"));
    // 1.4 % carbon are 2.408 % organic matter by the factor 1.72 [A].
    sheet.check("OC % W&B", "organic_matter", "% carbon", "walkley-black", 2.408);
    sheet.check("EC 1:5 dS/m", "ec", "dS/m", "1:5", 0.08);
    sheet.check("pH 1:5 CaCl2", "ph_cacl2", "pH", "calcium chloride", 4.9);
    sheet.check("pH 1:5 Water", "ph_water", "pH", "water", 5.7);
    sheet.check("Exc Al cmol(+)/kg", "al", "meq/100g", "potassium chloride", 0.12);
    for (header, key, value) in
        [("Exc Ca", "ca", 5.82), ("Exc Mg", "mg", 2.41), ("Exc K", "k", 0.44), ("Exc Na", "na", 0.31)]
    {
        sheet.check(header, key, "meq/100g", "?", value);
        let Role::Analyte { unit, .. } = sheet.role(header) else { unreachable!() };
        assert_eq!(unit, &Found::Inferred(LabUnit::Meq100g, "as `Exc Al cmol(+)/kg`".into()));
    }
    sheet.check("ECEC", "cec", "meq/100g", "effective", 9.1);
    sheet.check("ESP %", "na_saturation", "%", "calculated", 3.4);
}

#[test]
fn layout_9_germany_in_oxides_by_100_g() {
    let sheet = Understood::layout(9);
    assert_eq!(sheet.role("Probe"), &Role::SampleId);
    assert!(sheet.aside("Bodenart").contains("texture"));
    sheet.check("Humus %", "organic_matter", "%", "?", 2.4);
    sheet.check("pH (CaCl2)", "ph_cacl2", "pH", "calcium chloride", 6.1);
    // 14 mg/100 g K2O are 14 x 0.8301 x 10 = 116 ppm K (field notes) [A].
    assert_eq!(sheet.told("K2O (CAL) mg/100g"), ("k", "mg/100g K2O".into(), "calcium acetate lactate"));
    check_close(sheet.ppm("K2O (CAL) mg/100g", Cation::K), 116.0, 0.5);
    sheet.check("P2O5 (CAL) mg/100g", "p", "mg/100g P2O5", "calcium acetate lactate", 11.0 * 4.365);
    assert_eq!(sheet.told("Mg (CaCl2) mg/100g"), ("mg", "mg/100g".into(), "calcium chloride"));
    check_close(sheet.ppm("Mg (CaCl2) mg/100g", Cation::Mg), 90.0, 0.1);
    for header in ["Gehaltsklasse P", "Gehaltsklasse K"] {
        assert_eq!(sheet.aside(header), "a class or rating, not an amount");
    }
}

#[test]
fn layout_10_france_in_oxides_by_kilogram() {
    let sheet = Understood::layout(10);
    assert_eq!(sheet.role("Parcelle"), &Role::SampleId);
    sheet.check("pH eau", "ph_water", "pH", "water", 6.7);
    sheet.check("CaCO3 total g/kg", "free_lime", "g/kg", "calculated", 0.1);
    sheet.check("MO g/kg", "organic_matter", "g/kg", "?", 2.4);
    sheet.check("CEC Metson cmol+/kg", "cec", "meq/100g", "measured ph 7", 13.4);
    sheet.check("P2O5 Olsen g/kg", "p", "g/kg P2O5", "olsen", 62.0 * 0.4364);
    // 0.21 g/kg K2O are 174 ppm K (field notes) [A].
    assert_eq!(sheet.told("K2O éch. g/kg"), ("k", "g/kg K2O".into(), "?"));
    check_close(sheet.ppm("K2O éch. g/kg", Cation::K), 174.0, 0.5);
    check_close(sheet.ppm("MgO éch. g/kg", Cation::Mg), 180.0 * 0.603, 0.1);
    check_close(sheet.ppm("CaO éch. g/kg", Cation::Ca), 3100.0 * 0.7147, 0.2);
    assert_eq!(sheet.told("Na2O g/kg").1, "g/kg Na2O");
    sheet.check("S/T %", "base_saturation", "%", "calculated", 94.0);
    sheet.has_no(Analyte::S);
}

#[test]
fn layout_11_united_kingdom_by_volume_with_indices() {
    let sheet = Understood::layout(11);
    assert_eq!(sheet.role("Field"), &Role::SampleId);
    sheet.check("pH", "ph_water", "pH", "?", 6.4);
    for header in ["P Index", "K Index", "Mg Index"] {
        assert_eq!(sheet.aside(header), "an index, not an amount");
    }
    sheet.check("P mg/l", "p", "mg/L", "?", 21.0);
    sheet.check("K mg/l", "k", "mg/L", "?", 148.0 / Cation::K.ppm_per_meq());
    sheet.check("Mg mg/l", "mg", "mg/L", "?", 121.0 / Cation::Mg.ppm_per_meq());
    // "2-" is an index, in no way the number 2.
    assert!(POINT.reading("2-").is_none());
}
