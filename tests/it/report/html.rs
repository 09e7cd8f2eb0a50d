//! A page read by a strict reader.

use html5ever::tendril::TendrilSink;
use html5ever::{ParseOpts, parse_document};
use markup5ever_rcdom::{Handle, NodeData, RcDom};

/// The page as a tree, which must come without a single complaint.
#[track_caller]
pub(crate) fn parsed(page: &str) -> Handle {
    let dom = parse_document(RcDom::default(), ParseOpts::default()).one(page);
    let errors = dom.errors.borrow();
    assert!(errors.is_empty(), "{errors:?}");
    dom.document
}

/// Elements of a name below a node, in order.
fn all(node: &Handle, name: &str, found: &mut Vec<Handle>) {
    if let NodeData::Element { name: own, .. } = &node.data
        && &*own.local == name
    {
        found.push(node.clone());
    }
    for child in node.children.borrow().iter() {
        all(child, name, found);
    }
}

pub(crate) fn elements(node: &Handle, name: &str) -> Vec<Handle> {
    let mut found = Vec::new();
    all(node, name, &mut found);
    found
}

pub(crate) fn attribute(node: &Handle, name: &str) -> Option<String> {
    let NodeData::Element { attrs, .. } = &node.data else { return None };
    let attrs = attrs.borrow();
    attrs.iter().find(|one| &*one.name.local == name).map(|one| one.value.to_string())
}

pub(crate) fn text(node: &Handle) -> String {
    let mut said = String::new();
    if let NodeData::Text { contents } = &node.data {
        said.push_str(&contents.borrow());
    }
    for child in node.children.borrow().iter() {
        said.push_str(&text(child));
    }
    said
}

pub(crate) fn collect_ids(node: &Handle, found: &mut Vec<String>) {
    found.extend(attribute(node, "id"));
    for child in node.children.borrow().iter() {
        collect_ids(child, found);
    }
}
