//! The page on which a key is shown. It says nothing about the layout: whoever sees it has yet to enter.

use maud::{DOCTYPE, Markup, html};

pub(crate) fn write(is_keyed: bool) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Enter · live panel" }
                link rel="stylesheet" href="/assets/panel.css";
                link rel="icon" href="/assets/icon.svg" type="image/svg+xml";
                script type="module" src="/assets/enter.js" {}
            }
            body {
                header.block { h1 { "Live panel" } dl { div { dt { "Sheet" } dd { "Enter" } } } }
                main {
                    section.enter aria-labelledby="enter-title" {
                        @if is_keyed {
                            h2 #enter-title { "Show your key" }
                            p #says role="status" aria-live="polite" {
                                "Scan the code of your key with this device’s camera, or type the key."
                            }
                            form #enter {
                                p { label for="key" { "Key" } }
                                p { input #key type="text" required maxlength="60" autocomplete="off" autocapitalize="none" spellcheck="false"; }
                                p.act { button.strong type="submit" { "Enter" } }
                            }
                            p.quiet { "The keys were printed when this panel was first opened to the network." }
                        } @else {
                            h2 #enter-title { "No key is needed" }
                            p { a.button href="/" { "Open the panel" } }
                        }
                        noscript { p.trouble { "This page needs scripts. Allow them for this address and load the page again." } }
                    }
                }
            }
        }
    }
}
