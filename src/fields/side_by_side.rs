//! [`SideBySide`]: the fields of one sheet, least CEC first, with what is to be said about them.

use super::applications::{Applications, applications};
use super::cores::{fields_of_rows, plain_name};
use super::programme::{UnlikeGround, unlike_ground};
use super::sheet_columns::SheetColumns;
use super::{FieldTest, Group, HoldingClass, Standing, wording};
use crate::columns::ColumnReading;
use crate::samples::{Analyte, NumberForm, SampleTable};
use crate::units::LabUnit;

/// One field beside the others.
#[derive(Debug, Clone, PartialEq)]
pub struct Field {
    /// What the sheet tells of it.
    pub test: FieldTest,
    /// How much it holds; `None` without a CEC that fits the classes: [`SideBySide::not_known`] says why.
    pub class: Option<HoldingClass>,
    /// How it stands in the group.
    pub standing: Standing,
}

/// The whole result.
///
/// # Guarantees
/// - `fields`: least CEC first; then those with another kind of CEC, then those without one, by name
/// - the order of the sheet's rows changes nothing but line numbers
#[derive(Debug, Clone, PartialEq)]
pub struct SideBySide {
    /// The sheet, as typed.
    pub file: String,
    /// Rows of the sheet.
    pub n_rows: usize,
    /// The fields.
    pub fields: Vec<Field>,
    /// The group they make.
    pub group: Group,
    /// Unit of potassium as the sheet prints it; empty where it does not.
    pub k_unit: String,
    /// The sheet prints its pH without saying whether it is in water or in a salt.
    pub ph_medium_is_open: bool,
    /// One programme on unlike ground.
    pub unlike: Vec<UnlikeGround>,
    /// What was spread, where a second table says so.
    pub applications: Option<Applications>,
    /// What stands out, in sentences.
    pub in_short: Vec<String>,
    /// What to look for in the fields.
    pub look: Vec<String>,
    /// What could not be worked out, and why.
    pub not_known: Vec<String>,
    /// What is known about shares as a goal; empty where none are shown.
    pub evidence: Vec<String>,
}

/// Lays the fields of a sheet side by side: one row a field, or several rows a field, which are averaged.
///
/// Uses only what the sheet prints and refuses nothing: what cannot be worked out is said, with the reason, in
/// [`SideBySide::not_known`]. `applications` is a second table with the columns field, year, product (or nutrient),
/// amount and unit.
pub fn side_by_side(
    table: &SampleTable,
    columns: &[ColumnReading],
    numbers: &NumberForm,
    spread: Option<&SampleTable>,
) -> SideBySide {
    let sheet = SheetColumns::of(table, columns, numbers);
    let tests = fields_of_rows(table.rows.iter().map(|row| FieldTest::of_row(&sheet, row)).collect());
    let group = Group::of(&tests);
    let mut fields: Vec<Field> =
        tests.into_iter().map(|test| Field { class: class(&test), standing: group.standing(&test), test }).collect();
    let rank = |field: &Field| match &field.test.cec {
        Some(_) if group.compares(&field.test) => 0,
        Some(_) => 1,
        None => 2,
    };
    let cec = |field: &Field| field.test.cec.as_ref().map_or(0.0, |cec| cec.figure.value);
    // Stable: fields of one CEC stay in the order of names.
    fields.sort_by(|a, b| rank(a).cmp(&rank(b)).then(cec(a).total_cmp(&cec(b))));
    let unlike = unlike_ground(&fields, &group);
    let applications = spread.map(|table| applications(table, numbers, &fields, &group));
    let k_unit = sheet.source(Analyte::K).and_then(|source| source.unit).map_or(String::new(), LabUnit::name);
    let mut result = SideBySide {
        file: table.file.clone(),
        n_rows: table.rows.len(),
        fields,
        group,
        k_unit,
        ph_medium_is_open: sheet.ph_medium_is_open(),
        unlike,
        applications,
        in_short: Vec::new(),
        look: Vec::new(),
        not_known: Vec::new(),
        evidence: Vec::new(),
    };
    result.in_short = wording::in_short(&result);
    result.look = wording::look(&result);
    result.not_known = super::not_known::not_known(&result, &sheet, table);
    result.evidence = wording::evidence(&result);
    result
}

fn class(test: &FieldTest) -> Option<HoldingClass> {
    let cec = test.cec.as_ref().filter(|cec| cec.kind.why_no_class().is_none())?;
    HoldingClass::of_limit(cec.figure.value, cec.figure.limit)
}

impl SideBySide {
    /// Position of a field, by its name as typed; the first of equals.
    pub fn position(&self, name: &str) -> Option<usize> {
        self.fields.iter().position(|field| plain_name(&field.test.name) == plain_name(name))
    }
}
