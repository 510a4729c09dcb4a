//! [`Desk`]: the field file on the desk, its answers, and what they come to.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use holdground::decide::{
    self, Answers, DeskField, Form, Since, Slot, View, answered, figures_over, page, parts, question_of, read_form,
};
use holdground::diagnostic::Diagnostic;
use holdground::export;
use holdground::field_file::FieldFile;
use holdground::pipeline::{Inputs, Kept, Outcome, check, run_keeping};
use holdground::rates::NeedSource;
use holdground::rates::guide::{Guide, SheetTests};

use super::super::inputs;
use super::guard::Refusal;
use super::save;

/// The table whose bytes the page tells, so that a run can be held against it.
const RATES: &str = "tables/rates.csv";

/// The field file on the desk.
pub(super) struct Desk {
    path: PathBuf,
    /// The file as it was read or last written.
    text: String,
    inputs: Inputs,
    notes: Vec<Diagnostic>,
    own_guides: Vec<(String, Guide)>,
    field: DeskField,
    slots: Vec<Slot>,
    kept: Kept,
    /// What the file comes to.
    of_file: Arc<Outcome>,
    /// The last that could be worked out.
    shown: Arc<Outcome>,
    since: Since,
    answers: Answers,
    changed: Vec<usize>,
    faults: Vec<(usize, Diagnostic)>,
    carried: Vec<(String, String)>,
    times_written: usize,
}

/// Answers as they could be worked out.
struct WorkedOut {
    text: String,
    changed: Vec<usize>,
    outcome: Arc<Outcome>,
}

/// Answers nothing was worked out with.
struct Refused {
    changed: Vec<usize>,
    faults: Vec<(usize, Diagnostic)>,
}

impl Desk {
    /// Reads the field file and everything it names, and works it out once.
    pub(super) fn open(path: &Path, progress: &dyn Fn(&str)) -> Result<Desk, Vec<Diagnostic>> {
        let text = String::from_utf8(inputs::read_bytes(path, "the field file")?).unwrap_or_default();
        let read = inputs::read(path)?;
        let own_guides = own_guides(&read.inputs.field_file);
        let mut kept = Kept::default();
        let outcome = run_keeping(read.inputs.clone(), &mut kept, progress)?;
        let outcome = Arc::new(with_notes(outcome, &read.notes));
        let field = DeskField { file: path.display().to_string(), samples: all_samples(&read.inputs, &outcome) };
        let since = Since::between(&outcome, &outcome);
        let mut desk = Desk {
            path: path.to_owned(),
            text,
            inputs: read.inputs,
            notes: read.notes,
            own_guides,
            field,
            slots: Vec::new(),
            kept,
            of_file: outcome.clone(),
            shown: outcome,
            since,
            answers: Answers::new(),
            changed: Vec::new(),
            faults: Vec::new(),
            carried: Vec::new(),
            times_written: 0,
        };
        desk.read_slots();
        Ok(desk)
    }

    fn read_slots(&mut self) {
        let names: Vec<String> = self.field.samples.iter().map(|(id, _)| id.clone()).collect();
        let tests = SheetTests::of(&self.of_file.samples);
        self.slots = decide::slots(&self.text, &self.of_file.inputs.field_file, &names, Some(&tests));
    }

    pub(super) fn times_written(&self) -> usize {
        self.times_written
    }

    /// A form as sent by the page.
    pub(super) fn form(&self, text: &str) -> Result<Form, Refusal> {
        read_form(text, &self.slots).ok_or(Refusal::NotTheForm)
    }

    fn view<'a>(&'a self, said: Option<&'a str>) -> View<'a> {
        View {
            field: &self.field,
            slots: &self.slots,
            answers: &self.answers,
            changed: &self.changed,
            faults: &self.faults,
            shown: &self.shown,
            since: &self.since,
            carried: &self.carried,
            said,
        }
    }

    pub(super) fn page(&self, said: Option<&str>) -> String {
        page(&self.view(said))
    }

    pub(super) fn last_page(&self) -> String {
        decide::stopped(&self.field.file, &self.of_file.inputs.field_file.field.name)
    }

    /// Takes answers, and tells the parts of the page they change.
    pub(super) fn answer(&mut self, form: &Form) -> serde_json::Value {
        let carried = self.take(form).1;
        let parts: serde_json::Map<String, serde_json::Value> =
            parts(&self.view(None)).into_iter().map(|(id, html)| (id, html.into())).collect();
        let answers: serde_json::Map<String, serde_json::Value> =
            carried.into_iter().map(|(name, figures)| (name, figures.into())).collect();
        let tables = export::tables(&self.shown.report());
        let rates = tables.into_iter().find(|file| file.path == RATES);
        let rates = rates.map(|file| String::from_utf8_lossy(&file.bytes).into_owned());
        serde_json::json!({
            "superseded": false,
            "worked_out": self.faults.is_empty(),
            "changed": self.changed,
            "since": self.since.words,
            "parts": parts,
            "answers": answers,
            "rates_csv": rates,
        })
    }

    /// Takes answers and works them out where they can be; the text with them, and figures brought to other zones.
    fn take(&mut self, form: &Form) -> (Option<String>, Vec<(String, String)>) {
        let mut answers = form.answers.clone();
        let mut used = Vec::new();
        let mut result = self.work_out(&answers);
        if form.carry && result.is_err() {
            used = self.carried_for(&answers);
            answers.extend(used.iter().map(|(name, figures)| (name.clone(), vec![figures.clone()])));
            result = self.work_out(&answers);
        }
        self.carried.clear();
        self.faults.clear();
        let text = match result {
            Ok(worked) => {
                self.since = Since::between(&self.of_file, &worked.outcome);
                (self.shown, self.changed) = (worked.outcome, worked.changed);
                Some(worked.text)
            }
            Err(refused) => {
                self.carried = self.carried_for(&answers);
                (self.changed, self.faults) = (refused.changed, refused.faults);
                None
            }
        };
        self.answers = answers;
        (text, used)
    }

    fn carried_for(&self, answers: &Answers) -> Vec<(String, String)> {
        let count = answers.get("zones.count").and_then(|given| given.first()).and_then(|count| count.parse().ok());
        figures_over(&self.shown, &self.slots, answers, count)
    }

    fn work_out(&mut self, answers: &Answers) -> Result<WorkedOut, Refused> {
        let file = self.field.file.clone();
        let edited = answered((&file, &self.text), &self.slots, answers)
            .map_err(|faults| Refused { changed: self.changed.clone(), faults })?;
        let (text, changed) = (edited.text, edited.changed);
        if changed.is_empty() {
            return Ok(WorkedOut { text, changed, outcome: self.of_file.clone() });
        }
        let refused = |faults: Vec<Diagnostic>| {
            let faults = faults.into_iter().map(|fault| (question_of(&fault), fault)).collect();
            Refused { changed: changed.clone(), faults }
        };
        let mut field_file = FieldFile::parse(&file, &text).map_err(refused)?;
        for (name, guide) in &self.own_guides {
            if field_file.rates.open_guides().contains(&name.as_str()) {
                field_file.add_guide(name, guide).map_err(refused)?;
            }
        }
        let inputs = Inputs { field_file, ..self.inputs.clone() };
        let outcome = run_keeping(inputs, &mut self.kept, &|_| {}).map_err(refused)?;
        let outcome = Arc::new(with_notes(outcome, &self.notes));
        Ok(WorkedOut { text, changed, outcome })
    }

    /// Writes answers into the field file; what it came to, in a sentence.
    pub(super) fn write(&mut self, form: &Form) -> String {
        let file = self.field.file.clone();
        let Some(text) = self.take(form).0 else {
            return format!("{file} was not written: an answer is refused, see below.");
        };
        if text == self.text {
            return format!("{file} was not written: it says the same already.");
        }
        if let Err(fault) = save::replace(&self.path, self.text.as_bytes(), text.as_bytes()) {
            let said = format!("{file} was not written: {}.", fault.message);
            self.faults.push((0, *fault));
            return said;
        }
        self.times_written += 1;
        self.text = text;
        self.of_file = self.shown.clone();
        self.leave();
        self.read_slots();
        format!("The answers are written to {file}.")
    }

    /// Puts every answer back to the file's.
    pub(super) fn leave(&mut self) {
        self.shown = self.of_file.clone();
        self.since = Since::between(&self.of_file, &self.shown);
        self.answers.clear();
        self.changed.clear();
        self.faults.clear();
        self.carried.clear();
    }
}

/// What was said while reading belongs to the result too, as in a run.
fn with_notes(mut outcome: Outcome, notes: &[Diagnostic]) -> Outcome {
    outcome.warnings.splice(0..0, notes.iter().cloned());
    outcome
}

/// Guides of the user's own that the field file names.
fn own_guides(field_file: &FieldFile) -> Vec<(String, Guide)> {
    let own = field_file.rates.needs.iter().filter_map(|need| match &need.source {
        NeedSource::Guide(choice) => Some(choice),
        NeedSource::Lime(lime) => Some(&lime.choice),
        NeedSource::Stated(_) => None,
    });
    own.filter(|choice| Guide::find(&choice.name).is_none())
        .filter_map(|choice| Some((choice.name.clone(), choice.guide.clone()?)))
        .collect()
}

/// Every sample of the sheet, those left out too; without a place where the sheet is only sound without them.
fn all_samples(inputs: &Inputs, outcome: &Outcome) -> Vec<(String, Option<holdground::cell_grid::Site>)> {
    let mut whole = inputs.clone();
    whole.field_file.samples.leave_out.clear();
    let checked = check(&whole).ok().map(|checked| checked.value);
    let counted = checked.as_ref().unwrap_or(&outcome.samples);
    let mut samples: Vec<_> = counted.samples.iter().map(|sample| (sample.id.clone(), Some(sample.site))).collect();
    for id in &inputs.field_file.samples.leave_out {
        if !samples.iter().any(|(known, _)| known == id) {
            samples.push((id.clone(), None));
        }
    }
    samples
}
