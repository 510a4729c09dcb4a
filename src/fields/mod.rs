//! Fields side by side from one ordinary lab sheet: one row a field, no places, no field file, nothing asked.
//!
//! [`SampleTable`](crate::samples::SampleTable) and its [`ColumnReading`](crate::columns::ColumnReading)s -> a
//! [`FieldTest`] a row -> [`SideBySide`]. Nothing is refused for one bad cell: what cannot be worked out is said, with
//! the reason. Nothing here decides a rate.

mod applications;
mod cores;
mod field_cec;
mod field_test;
mod figure;
mod group;
mod holding_class;
mod not_known;
mod potash;
mod programme;
mod sheet_columns;
mod side_by_side;
mod wording;

pub use applications::{Applications, GotMore, Lower, Spread};
pub use field_cec::{CecKind, FieldCec, FieldCecSource, PrintedMethod};
pub use field_test::{FieldTest, Ground, Missing, Part, Share, ShareSource};
pub use figure::Figure;
pub use group::{Group, LEAST_OF_MEDIAN, Standing};
pub use holding_class::HoldingClass;
pub use programme::UnlikeGround;
pub use side_by_side::{Field, SideBySide, side_by_side};
pub use wording::{CA_MG_PERCENT, CA_PERCENT, K_PERCENT, MG_PERCENT, NO_ROOM_PERCENT};

#[cfg(test)]
mod tests;
