//! Soil samples: from the lab's sheet to checked, projected samples.
//!
//! [`SampleTable`] (text cells with line numbers) -> [`DraftSample`] (cells read as numbers and units) ->
//! [`SampleSet`] (nothing left to ask: units, methods, depth and places are settled; missing is `None`, never 0).
//! One check is one file of [`checks`].

mod analyte;
pub mod checks;
mod draft;
mod lab_method;
mod sample;
mod settings;
mod table;

pub use analyte::Analyte;
pub use draft::DraftSample;
pub use lab_method::LabMethod;
pub use sample::{CecSource, Limit, Reading, Sample, SampleSet, check};
pub use settings::{
    ColumnSetting, DepthSetting, MethodSetting, OutsideRule, PlacesSetting, SampleLines, SampleSettings,
    SheetCoordinates,
};
pub use table::{Row, SampleTable};
