//! The field file as six questions: what can be answered, the answers put into its text, and the page that shows what
//! they change.
//!
//! Nothing here reads, writes or listens; `cli/decide.rs` does. `slots` says what can be answered, [`answered`] puts
//! answers into the text with comments and order kept, [`Since`] tells what they change, `page` shows it.

mod edit;
mod figures_of_zones;
mod form;
mod page;
mod pictures;
mod questions;
mod since;
mod slot;
mod slots;
mod view;

pub use edit::{Answers, Edited, answered};
pub use figures_of_zones::figures_over;
pub use form::{Form, read_form};
pub use page::{page, parts, stopped};
pub use questions::{N_QUESTIONS, question_of};
pub use since::Since;
pub use slot::{Choice, Slot, SlotKind, Step};
pub use slots::slots;
pub use view::{DeskField, View};

/// Style of the page.
pub const STYLE: &str = include_str!("decide.css");
/// Script of the page: it only adds that answers show at once.
pub const SCRIPT: &str = include_str!("decide.js");
