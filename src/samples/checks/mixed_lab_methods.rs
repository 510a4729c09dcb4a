//! Lab methods that do not belong together, or are not known.

use super::CheckInput;
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::{Analyte, ColumnSetting, LabMethod, MethodSetting};
use crate::sheet::SampleTable;

/// Rows of one column by different methods, or cations of one sum by different extracts.
pub static MIXED_LAB_METHODS: Code = Code {
    name: "mixed-lab-methods",
    checks: "that all rows of a column come from one lab method, and the base cations from one extract",
    why: "extracts draw different amounts from the same soil: a map of both shows the laboratories, not the ground",
    example: "lines 2 to 9 give `K` by Mehlich-3, lines 10 to 16 by ammonium acetate",
    mend: "make a field file and a sheet of each lab's rows, or ask the lab to run one method on all bags",
};

/// A method's name that is not on the list.
pub static UNKNOWN_LAB_METHOD: Code = Code {
    name: "unknown-lab-method",
    checks: "that each lab method is one the program knows and that gives the analyte, or `unknown`",
    why: "guides are made for one extract; a method taken by likeness could double a rate",
    example: "`mehlich` in the method column of potassium: that is a lime buffer, Mehlich-1 and Mehlich-3 are extracts",
    mend: "write the method as listed, or `unknown`: what needs it is left out then",
};

/// The fault of a method cell that is not known.
pub(in crate::samples) fn unknown(table: &SampleTable, line: usize, header: &str, text: &str) -> Diagnostic {
    Diagnostic::error(&UNKNOWN_LAB_METHOD, format!("`{text}` in column `{header}` is no lab method the program knows"))
        .at(table.place(line, &[header]))
        .with_help("write it as listed, for example `ammonium acetate`, `mehlich-3`, `bray-1`, `olsen`, `sikora`, or `unknown`")
}

/// An error for each column of several methods; one warning where the cations summed come from different extracts.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for (index, column) in input.settings.columns.iter().enumerate() {
        let methods = methods_of(input, index);
        let misfits = unfit(input, column, &methods);
        if methods.len() < 2 || !misfits.is_empty() {
            found.extend(misfits);
            continue;
        }
        let parts: Vec<String> = methods
            .iter()
            .map(|(method, lines)| format!("{} ({})", method.name(), super::counted(lines.len(), "row")))
            .collect();
        let fewest = methods.iter().min_by_key(|(_, lines)| lines.len());
        let line = fewest.and_then(|(_, lines)| lines.first()).copied().unwrap_or(1);
        found.push(
            Diagnostic::error(
                &MIXED_LAB_METHODS,
                format!("column `{}` holds rows by {} methods: {}", column.column, methods.len(), parts.join(", ")),
            )
            .at(input.table.place(line, &[column.column.as_str()]))
            .with_help("keep the rows of one method in this sheet, and map the others with a field file of their own"),
        );
    }
    if found.is_empty() {
        found.extend(unlike_extracts(input));
    }
    found
}

/// Methods of a column that do not give its analyte; those of the field file are checked where it is read.
fn unfit(input: &CheckInput<'_>, column: &ColumnSetting, methods: &[(LabMethod, Vec<usize>)]) -> Vec<Diagnostic> {
    let MethodSetting::Column(header) = &column.method else { return Vec::new() };
    let fitting = LabMethod::fitting(column.analyte);
    let names: Vec<&str> = fitting.iter().map(|method| method.name()).collect();
    let misfits = methods.iter().filter(|(method, _)| !fitting.contains(method));
    let fault = |(method, lines): &(LabMethod, Vec<usize>)| {
        let message = format!("{} in column `{header}` is not a method of {}", method.name(), column.analyte.label());
        Diagnostic::error(&UNKNOWN_LAB_METHOD, message)
            .at(input.table.place(lines[0], &[header.as_str()]))
            .with_help(format!("methods of {}: `{}`", column.analyte.label(), names.join("`, `")))
    };
    misfits.map(fault).collect()
}

/// Methods of a column with the lines of their rows, in the order they first appear; rows without a reading do not count.
fn methods_of(input: &CheckInput<'_>, index: usize) -> Vec<(LabMethod, Vec<usize>)> {
    let mut methods: Vec<(LabMethod, Vec<usize>)> = Vec::new();
    for draft in input.drafts.iter().filter(|draft| draft.readings[index].is_some()) {
        match methods.iter_mut().find(|(method, _)| *method == draft.methods[index]) {
            Some((_, lines)) => lines.push(draft.line),
            None => methods.push((draft.methods[index], vec![draft.line])),
        }
    }
    methods
}

fn unlike_extracts(input: &CheckInput<'_>) -> Option<Diagnostic> {
    let mut extracts = Vec::new();
    for analyte in [Analyte::Ca, Analyte::Mg, Analyte::K, Analyte::Na] {
        let Some((index, column)) = input.column(analyte) else { continue };
        let method = methods_of(input, index).first().map_or(LabMethod::Unknown, |(method, _)| *method);
        if method != LabMethod::Unknown {
            extracts.push((column, method));
        }
    }
    let (_, first) = extracts.first()?;
    let (odd, _) = extracts.iter().find(|(_, method)| method != first)?;
    let parts: Vec<String> =
        extracts.iter().map(|(column, method)| format!("{} by {}", column.analyte.label(), method.name())).collect();
    Some(
        Diagnostic::warning(
            &MIXED_LAB_METHODS,
            format!("cations that are added up come from different extracts: {}", parts.join(", ")),
        )
        .at(input.column_place(odd))
        .with_help("prefer the lab's own CEC, or one extract for all; check `method` in `samples.columns`"),
    )
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;

    fn with_methods(csv: &str) -> Vec<Diagnostic> {
        let mut sheet = sheet(csv);
        sheet.settings.columns[0].method = MethodSetting::Column("By".to_owned());
        sheet.with_input(check)
    }

    #[test]
    fn rows_of_two_methods_are_counted() {
        let found = with_methods("ID,x,y,K,By\nA,0,0,120,mehlich-3\nB,9,0,130,Mehlich 3\nC,0,9,140,ammonium acetate\n");
        assert_eq!(
            lines(&found),
            ["error: column `K` holds rows by 2 methods: mehlich-3 (2 rows), ammonium acetate (1 row)"]
        );
        assert_eq!(found[0].place.as_ref().expect("has a place").to_string(), "lab.csv:4, column `K`");
    }

    #[test]
    fn a_blank_method_beside_a_named_one_counts_but_not_a_blank_reading() {
        let found = with_methods("ID,x,y,K,By\nA,0,0,120,mehlich-3\nB,9,0,130,\n");
        assert_eq!(lines(&found), ["error: column `K` holds rows by 2 methods: mehlich-3 (1 row), unknown (1 row)"]);
        assert!(with_methods("ID,x,y,K,By\nA,0,0,120,mehlich-3\nB,9,0,,\n").is_empty());
    }

    #[test]
    fn a_lime_buffer_is_no_extract_of_potassium() {
        let found = with_methods("ID,x,y,K,By\nA,0,0,120,mehlich-3\nB,9,0,130,mehlich\n");
        assert_eq!(lines(&found), ["error: mehlich in column `By` is not a method of potassium"]);
        assert_eq!(found[0].place.as_ref().expect("has a place").to_string(), "lab.csv:3, column `By`");
    }

    #[test]
    fn cations_of_different_extracts_are_warned() {
        let mut sheet = sheet("ID,x,y,K,Ca,Mg\nA,0,0,120,1900,225\n");
        assert!(sheet.with_input(check).is_empty());
        sheet.settings.columns[0].method = MethodSetting::Fixed(LabMethod::Mehlich1);
        let found = sheet.with_input(check);
        assert_eq!(
            lines(&found),
            ["warning: cations that are added up come from different extracts: calcium by ammonium acetate, \
                 magnesium by ammonium acetate, potassium by mehlich-1"]
        );
        assert_eq!(found[0].place.as_ref().expect("has a place").to_string(), "field.toml:20, `samples.columns.k`");
        sheet.settings.columns[0].method = MethodSetting::Fixed(LabMethod::Unknown);
        assert!(sheet.with_input(check).is_empty());
    }

    #[test]
    fn effective_and_summed_cec_do_not_make_one_map() {
        let found = with_methods("ID,x,y,CEC,By\nA,0,0,9.1,effective\nB,9,0,14.2,summation\nC,0,9,8.4,effective\n");
        assert_eq!(
            lines(&found),
            ["error: column `CEC` holds rows by 2 methods: effective (2 rows), summation (1 row)"]
        );
        assert_eq!(found[0].place.as_ref().expect("has a place").to_string(), "lab.csv:3, column `CEC`");
    }
}
