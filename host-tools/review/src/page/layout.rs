//! The frame of every page: head, top bar, the last action with its undo, and the keys.

use jumpseat_logbook::LogbookAction;
use maud::{DOCTYPE, Markup, html};

/// The address of a trip's page.
pub(crate) fn trip_path(name: &str) -> String {
    let name: String = form_urlencoded::byte_serialize(name.as_bytes()).collect();
    // A space is a plus there, which means a plus in a path.
    format!("/trip/{}", name.replace('+', "%20"))
}

/// A page.
pub(super) struct PageLayout<'a> {
    pub(super) title: &'a str,
    /// The kind of page, for the script.
    pub(super) kind: &'a str,
    /// Where it belongs: address and words.
    pub(super) above: Option<(String, String)>,
    pub(super) last: Option<&'a LogbookAction>,
}

impl PageLayout<'_> {
    pub(super) fn around(&self, body: Markup) -> Markup {
        html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    meta name="color-scheme" content="light dark";
                    title { (self.title) " – Jumpseat" }
                    link rel="icon" href="/icon.svg" type="image/svg+xml";
                    link rel="stylesheet" href="/review.css";
                    script src="/review.js" type="module" {}
                }
                body data-page=(self.kind) {
                    a .skip href="#main" { "Skip to the content" }
                    header .bar {
                        nav aria-label="Where you are" {
                            a .home href="/" { "Jumpseat" }
                            @if let Some((to, words)) = &self.above {
                                span .sep aria-hidden="true" { "/" }
                                a #above href=(to) { (words) }
                            }
                        }
                        @if let Some(last) = self.last { (undo(last)) }
                    }
                    main #main tabindex="-1" { (body) }
                    footer {
                        a href="/" { "Trips" }
                        a href="/export" { "Export" }
                        a href="/history" { "What was done" }
                        button type="button" #keys-open .plain { "Keys " kbd { "?" } }
                    }
                    (keys())
                }
            }
        }
    }
}

fn undo(last: &LogbookAction) -> Markup {
    html! {
        form .undo method="post" action="/undo" {
            input type="hidden" name="action" value=(last.action);
            span role="status" { (super::wording::capital(&last.what)) }
            button #undo type="submit" { "Undo " kbd { "Alt U" } }
        }
    }
}

/// What the keys do. Letters are keys outside text fields, and with Alt everywhere.
fn keys() -> Markup {
    const KEYS: [(&str, &str); 22] = [
        ("Esc", "leave a field: the letters are keys"),
        ("Alt", "with a letter: that key, inside a field too"),
        ("Space", "play or stop, in the call sign too"),
        ("← →", "previous word, next word"),
        ("↑ ↓", "previous over, next over"),
        ("D", "the next doubtful spot"),
        ("R", "repeat what is selected"),
        ("S", "speed: full, three quarters, half"),
        ("C", "without noise"),
        ("V", "as recorded"),
        ("1 to 9", "choose another value for the field"),
        ("E", "go to the call sign"),
        ("Tab", "go to the next field"),
        ("Enter", "confirm, and go to the next entry"),
        ("L", "put off until later"),
        ("X", "not a contact; asks first"),
        ("J", "join with the next entry"),
        ("T", "take apart before the selected over"),
        ("N, P", "next entry, previous entry"),
        ("G", "go to the trip"),
        ("U", "undo"),
        ("A", "play when an entry opens: on, off"),
    ];
    html! {
        dialog #keys aria-labelledby="keys-title" {
            h2 #keys-title { "Keys" }
            dl {
                @for (key, what) in KEYS {
                    div { dt { kbd { (key) } } dd { (what) } }
                }
            }
            form method="dialog" { button type="submit" { "Close" } }
        }
    }
}

/// The page that says what failed.
pub(crate) fn trouble(words: &str) -> Markup {
    let layout = PageLayout {
        title: "Not done",
        kind: "trouble",
        above: None,
        last: None,
    };
    layout.around(html! {
        h1 { "Not done" }
        p .wrong role="alert" { (words) }
        p { a .button href="/" { "To the trips" } }
    })
}

/// The page behind a secret link; it leads on by itself.
pub(crate) fn enter(to: &str) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="refresh" content={ "0;url=" (to) };
                title { "Jumpseat" }
                link rel="stylesheet" href="/review.css";
            }
            body data-page="enter" {
                main { p { a href=(to) { "To the review page" } } }
            }
        }
    }
}
