//! The page: one column, six questions, one line at the foot. Complete without script.

use maud::{DOCTYPE, Markup, html};

use super::questions::{N_QUESTIONS, QUESTIONS};
use super::slot::{Slot, SlotKind};
use super::view::View;
use crate::diagnostic::{Diagnostic, Severity};

mod findings;

/// The whole page.
pub fn page(view: &View<'_>) -> String {
    let name = &view.shown.inputs.field_file.field.name;
    let content = html! {
        main {
            h1 { bdi { (name) } ": six questions" }
            p.short {
                "Each answer shows at once what it changes. " (view.field.file) " is written only when you press the button \
                 at the end. Rates are recommendations: local rules and a certified adviser come first."
            }
            form #answers method="post" action="shown" autocomplete="off" {
                div.buttons { button #show type="submit" formaction="shown" { "Show what these answers change" } }
                div #said role="status" { @if let Some(said) = view.said { p.short { (said) } } }
                div #faults role="alert" { (faults(view, 0)) }
                @for question in 1..=N_QUESTIONS {
                    section id=(format!("q{question}")) aria-labelledby=(format!("q{question}-head")) {
                        h2 id=(format!("q{question}-head")) tabindex="-1" { (heading(view, question)) }
                        div id=(format!("q{question}-shown")) { (shown(view, question)) }
                        div id=(format!("q{question}-answer")) { (inputs(view, question)) }
                    }
                }
                section #end aria-label="Write or leave" {
                    div.buttons {
                        button #write type="submit" formaction="write" { "Write these answers to " bdi { (view.field.file) } }
                        button #leave type="submit" formaction="leave" { "Leave the file as it is" }
                        button #stop type="submit" formaction="stop" { "Stop" }
                    }
                    p.small {
                        "Leave puts every answer back to the file's. Stop ends the program on this machine; answers not \
                         written are gone."
                    }
                    div #warnings { (warnings(view)) }
                }
            }
        }
        footer { p #since aria-live="polite" role="status" { (foot(view)) } }
    };
    document(name, &content, true)
}

/// The page after the program has ended.
pub fn stopped(file: &str, name: &str) -> String {
    let content = html! {
        main { h1 #stopped { "Stopped" } p { "The program has ended. " bdi { (file) } " is as it was last written." } }
    };
    document(name, &content, false)
}

fn document(name: &str, content: &Markup, has_script: bool) -> String {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (name) ": six questions" }
                // Nothing can be loaded once the program has ended.
                @if has_script { link rel="stylesheet" href="decide.css"; }
                // An empty picture in the address itself, so that none is asked for.
                link rel="icon" href="data:,";
                @if has_script { script src="decide.js" defer {} }
            }
            body { (content) }
        }
    }
    .into_string()
}

/// The parts of the page that answers change: (id, inner HTML).
pub fn parts(view: &View<'_>) -> Vec<(String, String)> {
    let mut parts = vec![("faults".to_owned(), faults(view, 0).into_string())];
    for question in 1..=N_QUESTIONS {
        parts.push((format!("q{question}-head"), heading(view, question).into_string()));
        parts.push((format!("q{question}-shown"), shown(view, question).into_string()));
    }
    parts.push(("said".to_owned(), String::new()));
    parts.push(("warnings".to_owned(), warnings(view).into_string()));
    parts.push(("since".to_owned(), foot(view).into_string()));
    parts
}

fn heading(view: &View<'_>, question: usize) -> Markup {
    html! {
        (question) " " (QUESTIONS[question - 1])
        @if view.changed.contains(&question) { " " span.changed { "changed" } }
    }
}

/// The line at the foot.
fn foot(view: &View<'_>) -> Markup {
    if view.faults.is_empty() {
        return html! { (view.since.words) };
    }
    let mut questions: Vec<String> =
        view.faults.iter().filter(|(question, _)| *question > 0).map(|(question, _)| question.to_string()).collect();
    questions.dedup();
    let at = match questions.is_empty() {
        true => "at the top".to_owned(),
        false => format!("at question {}", questions.join(", ")),
    };
    html! { "Not worked out: see " (at) ". Shown is the last that could be." }
}

fn faults(view: &View<'_>, question: usize) -> Markup {
    let here: Vec<&Diagnostic> = view.faults.iter().filter(|(of, _)| *of == question).map(|(_, fault)| fault).collect();
    html! { @for fault in here { div.fault { (message(fault)) } } }
}

fn message(told: &Diagnostic) -> Markup {
    html! {
        p { strong { (told.severity.word()) } ": " (told.message) " [" (told.code.name) "]" }
        @if let Some(place) = &told.place { p.small { (place.to_string()) } }
        @for note in &told.notes { p.small { (note) } }
        @if let Some(help) = &told.help { p.small { "To mend it: " (help) } }
    }
}

fn warnings(view: &View<'_>) -> Markup {
    let warnings: Vec<&Diagnostic> =
        view.shown.warnings.iter().filter(|told| told.severity == Severity::Warning).collect();
    html! {
        @if !warnings.is_empty() {
            details {
                summary { (warnings.len()) " to look at before anyone spreads" }
                @for warning in warnings { (message(warning)) }
            }
        }
        p.small { (view.shown.report().plan_holds().paragraph()) }
    }
}

/// Map or ruler, and what was found; faults and proposals first.
fn shown(view: &View<'_>, question: usize) -> Markup {
    html! {
        (faults(view, question))
        @if question == 2 && !view.faults.is_empty() && !view.carried.is_empty() { (carried(view)) }
        (findings::of(view, question))
    }
}

/// Figures stated one a zone, brought to the number of zones asked for.
fn carried(view: &View<'_>) -> Markup {
    let label = |name: &str| view.slots.iter().find(|slot| slot.name == name).map_or("", |slot| slot.label.as_str());
    html! {
        div.fault {
            p { "The same figures over the same ground, in the zones asked for:" }
            ul { @for (name, figures) in view.carried { li { (label(name)) ": " (figures) } } }
            button #carry type="submit" name="carry" value="yes" formaction="shown" { "Use these figures" }
        }
    }
}

fn inputs(view: &View<'_>, question: usize) -> Markup {
    let slots: Vec<&Slot> = view.slots.iter().filter(|slot| slot.question == question).collect();
    html! {
        @if slots.is_empty() { p.small { "The file has nothing to answer here yet; docs/field-file.md shows the keys." } }
        @for slot in slots { (input(view, slot)) }
    }
}

fn input(view: &View<'_>, slot: &Slot) -> Markup {
    let id = slot.id();
    let answer = view.answer(slot);
    let text = answer.first().map_or("", String::as_str);
    match &slot.kind {
        SlotKind::Number | SlotKind::Numbers => html! {
            label.line for=(id) {
                bdi { (slot.label) }
                input #(id) name=(slot.name) value=(text) inputmode=[keyboard(&slot.kind)] type="text";
            }
        },
        SlotKind::Yes => html! {
            div { label.pick for=(id) {
                input #(id) name=(slot.name) value="true" type="checkbox" checked[text == "true"];
                bdi { (slot.label) }
            } }
        },
        SlotKind::Choice(choices) if slot.name == "zones.count" => html! {
            fieldset #(id) {
                legend { (slot.label) }
                @for choice in choices {
                    @let own = format!("{id}-{}", choice.value);
                    label.pick for=(own) {
                        input #(own) name=(slot.name) value=(choice.value) type="radio" checked[choice.value == text];
                        span { (choice.words) }
                    }
                }
            }
        },
        SlotKind::Choice(choices) => html! {
            label.line for=(id) {
                bdi { (slot.label) }
                select #(id) name=(slot.name) {
                    @for choice in choices {
                        option value=(choice.value) selected[choice.value == text] { (choice.words) }
                    }
                }
            }
        },
        // By their order, so that no name of a sheet has to survive the way through a form.
        SlotKind::Names(names) => html! {
            fieldset #(id) {
                legend { (slot.label) }
                div.names {
                    @for (index, name) in names.iter().enumerate() {
                        @let own = format!("{id}-{}", index + 1);
                        label.pick for=(own) {
                            input #(own) name=(slot.name) value=(index + 1) type="checkbox" checked[answer.contains(name)];
                            bdi { (name) }
                        }
                    }
                }
            }
        },
    }
}

/// Lists take commas, which keyboards of numbers lack.
fn keyboard(kind: &SlotKind) -> Option<&'static str> {
    (*kind == SlotKind::Number).then_some("decimal")
}
