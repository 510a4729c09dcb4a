//! Soil samples: from the lab's sheet to checked, projected samples.
//!
//! [`SampleTable`] (text cells with line numbers) -> [`DraftSample`] (cells read as numbers and units) ->
//! [`SampleSet`] (nothing left to ask: units, methods, depth and places are settled; missing is `None`, never 0).
//! One check is one file of [`checks`].

mod analyte;
pub mod checks;
mod coordinate_text;
mod depth_span;
mod draft;
mod lab_method;
mod number_form;
mod sample;
mod settings;
mod sheet_place;

pub use crate::sheet::DecimalMark;
pub use crate::sheet::{Row, SampleTable};
pub use analyte::Analyte;
pub(crate) use coordinate_text::{Axis, read_degrees};
pub use depth_span::depth_span;
pub use draft::DraftSample;
pub use lab_method::LabMethod;
pub use number_form::{CellNumber, NumberForm, WordMeaning, rating};
pub use sample::{CecSource, Limit, PLACES_OPEN, Reading, Sample, SampleSet, check, check_rows};
pub use settings::{
    ColumnSetting, DepthSetting, DepthUnit, MethodSetting, NameMatch, OutsideRule, PlaceShape, PlacesSetting,
    SampleLines, SampleSettings, SheetCoordinates,
};
