//! Title and facts.

use super::{BODY, Flow, MARGIN};
use crate::Sheet;
use crate::draw::{Anchor, Type, wrap};

const TITLE: Type = Type::new(17.0).bold();

pub(super) fn put(flow: &mut Flow, sheet: &Sheet) {
    let look = TITLE.fitting(&sheet.title, flow.width());
    let top = flow.take(24.0);
    flow.text((MARGIN, top + 15.0), Anchor::Start, look, &sheet.title);
    let width = flow.width();
    for line in sheet.facts.iter().flat_map(|fact| wrap(fact, BODY, width)) {
        let top = flow.take(11.0);
        flow.text((MARGIN, top + 8.0), Anchor::Start, BODY, &line);
    }
    flow.take(4.0);
}
