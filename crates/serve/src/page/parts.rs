//! What is left of the page: log, health, legend, and the one window that asks something.

use maud::{Markup, html};

use crate::access::Role;
use crate::app::Panel;
use crate::endpoint::log::time;
use crate::snapshot::Snapshot;

pub(super) fn log(panel: &Panel, role: Role) -> Markup {
    html! {
        section data-views="log" aria-labelledby="log-title" {
            h2 #log-title { "What happened last" }
            @if role == Role::Maintain { p { a.button href="/log.csv" download { "Save the whole log as a table" } } }
            @if let Some((first, at)) = panel.desk().snapshot().rows_from {
                p.quiet { "The journal reaches back to row " (first) ", " time data-ms=(at.0) { (time(at.0)) } ". Older rows were put aside in files beside it." }
            }
            table.log {
                thead { tr { th scope="col" { "Row" } th scope="col" { "Time" } th scope="col" { "What" } } }
                tbody #log-rows {
                    @for row in panel.desk().logbook().newest() {
                        tr { td { (row.number) } td { time data-ms=(row.at.0) { (time(row.at.0)) } } td { (row.says) } }
                    }
                }
            }
        }
    }
}

pub(super) fn health(panel: &Panel, role: Role, snapshot: &Snapshot) -> Markup {
    html! {
        section data-views="health" aria-labelledby="health-title" {
            h2 #health-title { "How the panel is" }
            dl.health {
                @for (link, in_touch) in &snapshot.links {
                    div { dt { "Link: " (link) } dd data-link-name=(link) { @if *in_touch { "in touch" } @else { "out of touch" @if let Some(why) = snapshot.link_troubles.get(link) { ": " (why) } } } }
                }
                div { dt { "Journal" } dd #journal { (snapshot.rows) " rows, written before anyone is told" } }
                @if let Some(trouble) = &snapshot.aside_trouble { div { dt { "Old rows" } dd { (trouble) } } }
                @if panel.desk().railroad().modelled().next().is_some() {
                    div { dt { "Faults put in to practise" } dd #put-in { (put_in_words(snapshot.put_in.len())) } }
                }
                div { dt { "Pages that follow" } dd #pages { "–" } }
                div { dt { "Open since" } dd { time #opened data-ms=(snapshot.run) { (time(snapshot.run)) } } }
                (enciphering(panel))
                div { dt { "Layout" } dd { (panel.layout()) } }
            }
            h2 { "Machines to look at" }
            p #signs { (signs(snapshot)) }
            p.act { a.button href="/commissioning" { "Commissioning" } a.button href="/faults" { "Find a fault" } }
            @if role == Role::Maintain && panel.reread().is_some() {
                h2 { "The layout’s file" }
                p { "When you have changed it: what stays keeps its positions, locks and routes; a file with errors changes nothing." }
                p { button #reread type="button" { "Look again at the layout" } }
                ul.changed #changed role="status" aria-live="polite" {}
            }
            h2 { "This device" }
            @if panel.access().is_keyed() {
                p { "It may " b { (role.word()) } ". " a href="/enter" { "Enter with another key" } }
            }
            form.device #device {
                p {
                    label for="by" { "What others see when you set a route" }
                    input #by type="text" maxlength="40" autocomplete="off" placeholder="such as: fascia tablet";
                }
                p {
                    label for="light" { "Light or dark" }
                    select #light {
                        option value="auto" { "as this device has it" }
                        option value="light" { "light" }
                        option value="dark" { "dark, for a dim layout room" }
                    }
                }
            }
            p.quiet {
                "Positions, routes and locks are kept when the panel is closed. A position is shown only when the machine has reported it."
            }
        }
    }
}

fn enciphering(panel: &Panel) -> Markup {
    html! {
        div {
            dt { "What is sent" }
            dd #enciphering {
                @match panel.certificate() {
                    None => "not enciphered",
                    Some(certificate) => {
                        "enciphered" @if certificate.is_self_made() { ", with a certificate of the panel’s own; its SHA-256 fingerprint:" } @else { "; SHA-256 fingerprint of the certificate:" }
                        " " span.fingerprint { (certificate.fingerprint()) }
                    }
                }
            }
        }
    }
}

fn put_in_words(count: usize) -> String {
    if count == 0 { "none".to_owned() } else { count.to_string() }
}

/// Machines that get slow, or miss reports.
fn signs(snapshot: &Snapshot) -> String {
    let signs: Vec<String> = snapshot.signs.iter().map(ToString::to_string).collect();
    if signs.is_empty() { "None gets slow, and none misses reports.".to_owned() } else { signs.join(" ") }
}

/// All shapes at once; the style sheet shows the one that fits the state. Shape and stroke differ as well as colour.
pub(super) fn sign() -> Markup {
    html! {
        svg.sign viewBox="0 0 24 24" aria-hidden="true" focusable="false" {
            circle.normal cx="12" cy="12" r="8" {}
            path.reverse d="M12 2 22 12 12 22 2 12Z" {}
            path.unknown d="M4 4H20V20H4Z" {}
        }
    }
}

pub(super) fn legend() -> Markup {
    let entries = [
        ("normal", "Normal", "it has reported so"),
        ("reverse", "Reverse", "it has reported so"),
        ("to-reverse", "Moving", "sent, and yet to report"),
        ("unknown", "Not known", "it has never reported"),
        ("overdue", "Wrong", "no report in time, or not where it was sent: go and look"),
    ];
    html! {
        section.legend data-views="railroad routes levers" aria-labelledby="legend" {
            h2 #legend { "How to read it" }
            ul {
                @for (state, word, meaning) in entries {
                    li data-state=(state) { (sign()) span { b { (word) } " · " (meaning) } }
                }
                li { span.struck aria-hidden="true" { "7" } span { b { "Struck through" } " · locked by someone, with a note" } }
                li { svg.swatch viewBox="0 0 48 24" aria-hidden="true" focusable="false" { path.under d="M0 12H48" {} path.over d="M0 12H48" {} } span { b { "Pale band" } " · a route that is set; dashed while it is being set, rose when something is wrong with it" } }
            }
        }
    }
}

pub(super) fn dialogs() -> Markup {
    html! {
        dialog #lock-dialog aria-labelledby="lock-title" {
            form method="dialog" #lock-form {
                h2 #lock-title { "Lock a lever" }
                p { label for="note" { "Why? Whoever finds it locked reads this." } }
                p { input #note type="text" maxlength="120" required autocomplete="off" placeholder="such as: wheel in the frog"; }
                p.act {
                    button type="button" #lock-cancel { "Leave it" }
                    button.strong type="submit" { "Lock it" }
                }
            }
        }
    }
}
