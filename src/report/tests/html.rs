//! A page as a browser reads it.

use html5ever::tendril::TendrilSink as _;
use html5ever::{ParseOpts, parse_document};
use markup5ever_rcdom::{Handle, NodeData, RcDom};

/// A page without a single fault, and with nothing that would have to be loaded.
pub(super) struct Page(Handle);

/// An element of it, and the page, which takes its elements with it.
#[derive(Clone)]
pub(super) struct Element(Handle, Handle);

/// How the address of a picture begins that the page holds itself.
const SMALL_PICTURE: &str = "data:image/jpeg;base64,";

impl Page {
    #[track_caller]
    pub(super) fn of(text: &str) -> Self {
        let page = Self::with_files(text);
        for element in page.all("*") {
            for name in ["src", "href", "onclick", "onload", "action"] {
                let value = element.attribute(name).unwrap_or_default();
                let own = value.starts_with('#') || value.starts_with(SMALL_PICTURE);
                assert!(value.is_empty() || own, "{name}={value:?}");
            }
        }
        assert!(page.all("script").is_empty() && page.all("link").is_empty());
        page
    }

    /// The same, with files beside it.
    #[track_caller]
    pub(super) fn with_files(text: &str) -> Self {
        let dom = parse_document(RcDom::default(), ParseOpts::default()).one(text);
        let faults = dom.errors.borrow();
        assert!(faults.is_empty(), "{faults:?}");
        Self(dom.document.clone())
    }

    /// The headings of its sections.
    pub(super) fn headings(&self) -> Vec<String> {
        self.all("h2").iter().map(Element::text).collect()
    }

    /// Elements of a name, in order; `*` for all.
    pub(super) fn all(&self, name: &str) -> Vec<Element> {
        Element(self.0.clone(), self.0.clone()).all(name)
    }

    /// The section under a heading.
    #[track_caller]
    pub(super) fn section(&self, heading: &str) -> Element {
        let sections = self.all("section");
        let found = sections.into_iter().find(|section| {
            let headings = section.all("h2");
            headings.first().is_some_and(|first| first.text() == heading)
        });
        found.unwrap_or_else(|| panic!("there is no section {heading:?}"))
    }

    /// The rows of the table of verdicts, cell by cell.
    pub(super) fn verdicts(&self) -> Vec<Vec<String>> {
        self.section("Verdicts").table(0)
    }

    /// What is told of how a verdict was reached.
    #[track_caller]
    pub(super) fn reached(&self, target: &str) -> Element {
        let checks = self.section("How each verdict was reached").all("div");
        let of_it = |check: &Element| {
            check.attribute("class").as_deref() == Some("check")
                && check.all("h3").first().is_some_and(|head| head.text() == target)
        };
        checks.into_iter().find(of_it).unwrap_or_else(|| panic!("nothing of {target}"))
    }
}

impl Element {
    pub(super) fn all(&self, name: &str) -> Vec<Self> {
        let mut found = Vec::new();
        below(self, &self.0, name, &mut found);
        found
    }

    pub(super) fn attribute(&self, name: &str) -> Option<String> {
        let NodeData::Element { attrs, .. } = &self.0.data else { return None };
        let attrs = attrs.borrow();
        attrs.iter().find(|one| &*one.name.local == name).map(|one| one.value.to_string())
    }

    /// What stands beside each word of its lists of words.
    pub(super) fn told(&self) -> Vec<(String, String)> {
        let words = self.all("dt").into_iter().map(|one| one.text());
        words.zip(self.all("dd").into_iter().map(|one| one.text())).collect()
    }

    /// Its text, blanks between words single.
    pub(super) fn text(&self) -> String {
        let mut said = String::new();
        texts(&self.0, &mut said);
        said.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// The cells of the bodies of one of its tables, row by row.
    pub(super) fn table(&self, at: usize) -> Vec<Vec<String>> {
        let table = self.all("table").into_iter().nth(at).expect("a table");
        let rows = table.all("tbody").into_iter().flat_map(|body| body.all("tr"));
        let cell = |one: &Self| matches!(one.name().as_str(), "td" | "th");
        rows.map(|row| {
            let cells = row.all("*").into_iter().filter(cell);
            cells.map(|cell| cell.text()).collect()
        })
        .collect()
    }

    fn name(&self) -> String {
        let NodeData::Element { name, .. } = &self.0.data else { return String::new() };
        name.local.to_string()
    }
}

fn below(of: &Element, node: &Handle, name: &str, found: &mut Vec<Element>) {
    for child in node.children.borrow().iter() {
        if let NodeData::Element { name: own, .. } = &child.data
            && (name == "*" || &*own.local == name)
        {
            found.push(Element(child.clone(), of.1.clone()));
        }
        below(of, child, name, found);
    }
}

/// Elements that stand within a line of words.
const INLINE: [&str; 5] = ["bdi", "strong", "data", "a", "wbr"];

fn texts(node: &Handle, said: &mut String) {
    if let NodeData::Element { name, .. } = &node.data
        && !INLINE.contains(&&*name.local)
    {
        said.push(' ');
    }
    if let NodeData::Text { contents } = &node.data {
        said.push_str(&contents.borrow());
    }
    for child in node.children.borrow().iter() {
        texts(child, said);
    }
}
