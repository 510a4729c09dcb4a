//! A task set from its files.

use holdground::audit::package::folder_and_name;
use holdground::audit::task_layers;
use holdground::audit::task_set::{OtherFile, TaskSet};
use holdground::audit::{Form, Prescription};

use super::load::LoadedFile;
use super::{validity, xml};

/// Reads a task set.
pub(super) fn read(main: &LoadedFile, others: &[&LoadedFile], in_zip: bool) -> Prescription {
    let (folder, name) = folder_and_name(&main.inner);
    let has_byte_order_mark = main.bytes.starts_with(b"\xef\xbb\xbf");
    let bytes = if has_byte_order_mark { &main.bytes[3..] } else { &main.bytes[..] };
    let document = match std::str::from_utf8(bytes) {
        Ok(text) => xml::read(text),
        Err(error) => {
            let line = 1 + bytes[..error.valid_up_to()].iter().filter(|byte| **byte == b'\n').count();
            // What came before it may still tell the version and names; what came after is not guessed.
            let fault = Some((line, "bytes that are no UTF-8".to_owned()));
            xml::Document { fault, ..xml::Document::default() }
        }
    };
    let other = |file: &&LoadedFile| OtherFile {
        name: folder_and_name(&file.inner).1.to_owned(),
        shown: file.shown.clone(),
        bytes: file.bytes.clone(),
    };
    let set = TaskSet {
        file: main.shown.clone(),
        folder: folder.to_owned(),
        main_file: name.to_owned(),
        in_zip,
        has_byte_order_mark,
        declaration: document.declaration,
        expands_at: document.expands_at,
        not_well_formed: document.fault,
        root: document.root,
        others: others.iter().filter(|file| file.inner.to_lowercase().ends_with(".bin")).map(other).collect(),
    };
    let (shape_sets, layers) = task_layers::layers(&set);
    let mut prescription = Prescription {
        name: main.shown.clone(),
        form: Some(Form::TaskSet(set)),
        shape_sets,
        layers,
        ..Prescription::default()
    };
    validity::look(&mut prescription);
    prescription
}
