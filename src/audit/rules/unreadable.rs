//! Files another reader refuses.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "prescription-unreadable",
    checks: "that another reader, GDAL, opens the file and reads every record",
    why: "what a general-purpose reader refuses a controller will hardly take",
    example: "a GeoTIFF whose end is missing",
    mend: "copy the file again from where it was made; if it is whole there, have it written again",
};

pub(super) fn find(of: &Prescription) -> Found {
    let fault =
        |remark: &Remark| match remark.is_refusal {
            true => Diagnostic::error(&CODE, format!("it cannot be read: {}", remark.text))
                .at(Place::File(remark.file.clone())),
            false => Diagnostic::warning(&CODE, format!("GDAL remarks: {}", remark.text))
                .at(Place::File(remark.file.clone())),
        };
    of.remarks.iter().map(fault).collect()
}
