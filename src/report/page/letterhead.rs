//! Whose name stands at the head of the page.

use maud::{Markup, html};

use super::model::Model;
use super::text::{free, shown};

/// Whose name stands at the head of the page; all of it may be missing.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Letterhead {
    /// The name of the shop.
    pub name: Option<String>,
    /// Its address, line by line.
    pub address: Vec<String>,
    /// Its mark: a picture.
    pub mark: Option<MarkShown>,
}

/// A picture that the page holds itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MarkShown {
    /// An address that holds it whole.
    pub uri: String,
    /// Its width, pixels.
    pub width: u32,
    /// Its height, pixels.
    pub height: u32,
}

/// The head of the page: the shop, and of which job it is.
pub(super) fn head(model: &Model<'_>, shop: &Letterhead) -> Markup {
    html! {
        header.letter {
            @if let Some(mark) = &shop.mark {
                @let of = shop.name.as_deref().map_or_else(|| "the shop".to_owned(), shown);
                img.mark src=(mark.uri) alt={ "Mark of " (of) } width=(mark.width) height=(mark.height);
            }
            @if shop.name.is_some() || !shop.address.is_empty() {
                address {
                    @if let Some(name) = &shop.name { strong { (free(name)) } }
                    @for line in &shop.address { span { (free(line)) } }
                }
            }
            div.title {
                p.kind { "Measuring report" }
                h1 { "Job " (free(model.name())) }
            }
        }
    }
}
