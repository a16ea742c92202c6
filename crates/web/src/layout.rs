//! The frame around every page: the strip of places, the way back, the foot.

use maud::{DOCTYPE, Markup, html};

/// The places of the workshop that are built, in the order of the product's
/// journey; and Today, the front page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Place {
    Today,
    Shelf,
    Bench,
    Pour,
    Rack,
    Label,
    Stall,
    Books,
}

impl Place {
    const ALL: [Self; 8] = [
        Self::Today,
        Self::Shelf,
        Self::Bench,
        Self::Pour,
        Self::Rack,
        Self::Label,
        Self::Stall,
        Self::Books,
    ];

    const fn word(self) -> &'static str {
        match self {
            Self::Today => "Today",
            Self::Shelf => "Shelf",
            Self::Bench => "Bench",
            Self::Pour => "Pour",
            Self::Rack => "Rack",
            Self::Label => "Label",
            Self::Stall => "Stall",
            Self::Books => "Books",
        }
    }

    const fn path(self) -> &'static str {
        match self {
            Self::Today => "/",
            Self::Shelf => "/shelf",
            Self::Bench => "/bench",
            Self::Pour => "/pour",
            Self::Rack => "/rack",
            Self::Label => "/label",
            Self::Stall => "/stall",
            Self::Books => "/books",
        }
    }

    /// Whether a phone shows it behind "More".
    const fn is_late(self) -> bool {
        matches!(self, Self::Shelf | Self::Label | Self::Stall | Self::Books)
    }
}

/// A page, finished but for its frame.
pub(crate) struct Page {
    /// The question the page answers; also the window's title.
    pub title: String,
    /// The place it belongs to.
    pub place: Place,
    /// Where one came from, with its words; none on a place's own front page.
    pub back: Option<(String, String)>,
    /// Everything below the way back, heading included.
    pub body: Markup,
}

/// Whose pages these are.
pub(crate) struct DoorPlate {
    /// The workshop's name.
    pub name: String,
    /// Tells its journal from another one opened at the same address, so that
    /// what a browser keeps of half-filled forms is not taken for the other's.
    pub journal: String,
}

impl Default for DoorPlate {
    fn default() -> Self {
        Self {
            name: "Pourwright".to_owned(),
            journal: String::new(),
        }
    }
}

/// Puts a page into the frame.
pub(crate) fn frame(of: &DoorPlate, page: &Page) -> Markup {
    let link = |place: Place, class: &str| {
        html! {
            a href=(place.path()) class=[(!class.is_empty()).then_some(class)]
              aria-current=[(place == page.place).then_some("page")] { (place.word()) }
        }
    };
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1, viewport-fit=cover";
                meta name="color-scheme" content="light dark";
                title { (page.title) " · " (of.name) }
                link rel="icon" href="/assets/icon.svg" type="image/svg+xml";
                link rel="stylesheet" href={ "/assets/style.css?" (crate::assets::STAMP) };
                script src={ "/assets/pourwright.js?" (crate::assets::STAMP) } defer {}
            }
            body data-journal=(of.journal) {
                a.skip href="#main" { "Skip to the page" }
                header.top {
                    div.in {
                        a.name href="/" { (of.name) }
                        span.aside { a href="/settings" { "Settings" } }
                        nav aria-label="Places" {
                            ul.places {
                                @for place in Place::ALL {
                                    li class=[place.is_late().then_some("late")] { (link(place, "")) }
                                }
                                li.only-phone {
                                    details {
                                        summary aria-current=[page.place.is_late().then_some("true")] { "More" }
                                        div.more {
                                            @for place in Place::ALL.into_iter().filter(|place| place.is_late()) {
                                                (link(place, ""))
                                            }
                                        }
                                    }
                                }
                            }
                        }
                    }
                }
                main #main {
                    @if let Some((path, words)) = &page.back {
                        a.back href=(path) { "← " (words) }
                    }
                    (page.body)
                }
                footer {
                    "Pourwright informs; it does not certify. Follow the supplier's safety data sheet and local codes. "
                    a href="/print" { "Papers to print" } " · "
                    a href="/work" { "Every calculation" } " · "
                    a href="/api" { "For programs" }
                }
            }
        }
    }
}
