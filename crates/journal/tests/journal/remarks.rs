//! Remarks, delays and traces.

use crate::{PATIENCE, keeper, morning, noted, place};
use course::Day;
use journal::{By, Journal, Noted, Remark, export};
use layout::{Breath, Technique, Way};
use scoring::Outcome;

#[test]
fn a_remark_is_about_the_try_before_it_or_about_a_day() {
    let (_folder, file) = place();
    let keeper = keeper(&file);
    keeper.keep(Noted::remark("before anything", None, morning()));
    keeper.keep(noted(1, Outcome::Landed, By::Player));
    keeper.keep(Noted::delay(("desk", "shelf"), 0.0515, morning()));
    keeper.keep(Noted::remark("jaw\nlower", None, morning()));
    keeper.keep(Noted::remark("a new harp", Some(Day(20_780)), morning()));
    assert_eq!(keeper.close(PATIENCE), 0);
    let (journal, _) = Journal::open(&file, morning()).unwrap();
    let remark = |day, what: Option<&str>, text: &str| Remark {
        day: Day(day),
        what: what.map(str::to_owned),
        text: text.to_owned(),
    };
    let all = [
        remark(20_780, None, "a new harp"),
        remark(20_785, None, "before anything"),
        remark(20_785, Some("drill hole-3-depths"), "jaw\nlower"),
    ];
    assert_eq!(journal.remarks("anna").unwrap(), all);
    assert_eq!(journal.remarks("ida").unwrap(), []);
    assert_eq!(journal.check().unwrap().faults, Vec::<String>::new());
    // They go out and come in like everything else.
    let mut lines = Vec::new();
    export(&journal, None, &mut lines).unwrap();
    let (_other, copy) = place();
    let (mut other, _) = Journal::open(&copy, morning()).unwrap();
    other.import(&lines[..]).unwrap();
    assert_eq!(other.remarks("anna").unwrap(), all);
    let mut again = Vec::new();
    export(&other, None, &mut again).unwrap();
    assert_eq!(again, lines);
    assert!(String::from_utf8(lines).unwrap().contains("\"delay_ms\":51.5,\"input\":\"desk\""));
}

#[test]
fn the_last_eight_tries_at_a_way_leave_a_trace() {
    let (_folder, file) = place();
    let keeper = keeper(&file);
    for number in 1..=20 {
        let by = if number == 19 { By::BuiltIn } else { By::Player };
        keeper.keep(noted(number, Outcome::Landed, by));
    }
    assert_eq!(keeper.close(PATIENCE), 0);
    let journal = Journal::read(&file, morning()).unwrap();
    let way = Way::new(3, Breath::Draw, Technique::Bend(1));
    let of = |traces: &[(Way, scoring::Trace)], way: Way| -> Vec<scoring::Trace> {
        traces.iter().filter(|(it, _)| *it == way).map(|(_, trace)| trace.clone()).collect()
    };
    let traces = of(&journal.traces("anna").unwrap(), way);
    let last: Vec<_> = traces.iter().map(|trace| trace.tenths[2].unwrap()).collect();
    assert_eq!(last, [-137, -138, -139, -140, -141, -142, -143, -145]);
    assert_eq!(traces[0].cents().collect::<Vec<_>>(), [Some(-30.0), None, Some(-13.7)]);
    assert_eq!(journal.traces("ida").unwrap(), []);
    assert_eq!(of(&journal.traces("anna").unwrap(), Way::new(4, Breath::Draw, Technique::Bend(1))), []);
}
