//! Laws that hold for every harp.

use layout::{
    Breath, ConcertPitch, Harp, HarpKey, TabMarks, TabStep, TabStyle, Technique, Tuning, Tunings, Way,
};
use proptest::prelude::*;

/// Our tunings, and any tuning of 4 to 16 holes whose reeds lie up to an octave apart.
fn tunings() -> impl Strategy<Value = Tuning> {
    let any = prop::collection::vec((-24_i8..=47, -12_i8..=12), 4..=16).prop_map(|reeds| {
        let (blow, draw): (Vec<i8>, Vec<i8>) =
            reeds.into_iter().map(|(blow, gap)| (blow, (blow + gap).max(-24))).unzip();
        Tuning::new("any", &blow, &draw).unwrap()
    });
    let ours: Vec<Tuning> = Tunings::ours().iter().map(|known| known.tuning.clone()).collect();
    prop_oneof![prop::sample::select(ours), any]
}

fn keys() -> impl Strategy<Value = HarpKey> {
    prop::sample::select(HarpKey::all().collect::<Vec<_>>())
}

fn harps() -> impl Strategy<Value = Harp> {
    (keys(), tunings(), 400.0_f64..480.0)
        .prop_map(|(key, tuning, a4)| Harp::new(key, tuning, ConcertPitch::new(a4).unwrap()))
}

/// Named styles and styles with marks of any characters.
fn styles() -> impl Strategy<Value = TabStyle> {
    let marks = ("\\PC{0,2}", "\\PC{1,2}", any::<bool>(), "\\PC{1,2}", "\\PC{1,2}");
    let own = marks.prop_filter_map("marks that can serve", |(blow, draw, breath_after, bend, overbend)| {
        TabStyle::new(TabMarks { blow, draw, breath_after, bend, overbend }).ok()
    });
    let named =
        prop::sample::select(TabStyle::NAMES.to_vec()).prop_map(|name| TabStyle::named(name).unwrap());
    prop_oneof![named, own]
}

/// Every way of every tuning of ours in every key: tab → way → note → way → tab.
#[test]
fn tab_to_note_and_back_for_every_key_and_tuning() {
    let style = TabStyle::default();
    let tunings = Tunings::ours();
    let pairs = HarpKey::all().flat_map(|key| tunings.iter().map(move |known| (key, known)));
    for (key, known) in pairs {
        let harp = Harp::new(key, known.tuning.clone(), ConcertPitch::ISO);
        for way in harp.ways() {
            let tab = style.print(way);
            let read = style.read_for(&harp, &tab).unwrap();
            let back = harp.ways_to(harp.play(read).unwrap()).into_iter().find(|other| *other == way);
            assert_eq!(back.map(|way| style.print(way)), Some(tab));
        }
    }
}

proptest! {
    #[test]
    fn tab_to_way_to_tab_is_the_identity(harp in harps(), style in styles()) {
        for way in harp.ways() {
            let tab = style.print(way);
            prop_assert_eq!(style.read_for(&harp, &tab), Ok(way), "{}", tab);
        }
        let line: Vec<TabStep> = harp.ways().map(TabStep::One).collect();
        prop_assert_eq!(style.read_line_for(&harp, &style.print_line(&line)), Ok(line));
    }

    #[test]
    fn every_way_is_among_the_ways_to_its_note(harp in harps()) {
        for way in harp.ways() {
            let note = harp.note(way).unwrap();
            let ways = harp.ways_to(note);
            prop_assert!(ways.contains(&way));
            prop_assert!(ways.iter().all(|other| harp.note(*other) == Some(note)));
            prop_assert!(ways.is_sorted_by_key(|way| way.technique));
        }
    }

    /// What `play` allows is what `ways` lists, over every way that can be written.
    #[test]
    fn ways_lists_exactly_what_can_be_played(harp in harps()) {
        let listed: Vec<Way> = harp.ways().collect();
        for hole in 0..=17 {
            for breath in [Breath::Blow, Breath::Draw] {
                let bends = (0..=100).map(Technique::Bend);
                for technique in bends.chain([Technique::Natural, Technique::Overbend]) {
                    let way = Way::new(hole, breath, technique);
                    prop_assert_eq!(harp.play(way).is_ok(), listed.contains(&way), "{}", way);
                }
            }
        }
    }

    #[test]
    fn bends_lie_between_the_reeds_and_overbends_above(harp in harps()) {
        for way in harp.ways() {
            let reeds = [Breath::Blow, Breath::Draw].map(|breath| harp.reed(way.hole, breath).unwrap());
            let (low, high) = (reeds[0].min(reeds[1]), reeds[0].max(reeds[1]));
            let note = harp.note(way).unwrap();
            match way.technique {
                Technique::Natural => prop_assert_eq!(Some(note), harp.reed(way.hole, way.breath)),
                Technique::Bend(depth) => {
                    prop_assert!(low < note && note < high);
                    prop_assert_eq!(note.up(i32::from(depth)), Some(high));
                }
                Technique::Overbend => prop_assert_eq!(high.up(1), Some(note)),
            }
        }
    }

    #[test]
    fn another_key_transposes_everything(tuning in tunings(), from in keys(), to in keys()) {
        let [from_harp, to_harp] = [from, to].map(|key| Harp::new(key, tuning.clone(), ConcertPitch::ISO));
        let up = i32::from(to.blow_1().midi()) - i32::from(from.blow_1().midi());
        prop_assert_eq!(from_harp.ways().collect::<Vec<_>>(), to_harp.ways().collect::<Vec<_>>());
        for way in from_harp.ways() {
            prop_assert_eq!(from_harp.note(way).unwrap().up(up), to_harp.note(way));
        }
    }

    /// A frequency up to 49 cents away from a way finds the way's note again, and that distance.
    #[test]
    fn frequency_to_way_to_frequency(harp in harps(), which: prop::sample::Index, off in -49.0_f64..49.0) {
        let ways: Vec<Way> = harp.ways().collect();
        let way = *which.get(&ways);
        let hz = harp.hz(way).unwrap() * (off / 1200.0).exp2();
        let near = harp.nearest(hz).unwrap();
        prop_assert_eq!(Some(near.note), harp.note(way));
        prop_assert_eq!(near.way, harp.ways_to(near.note)[0]);
        prop_assert!((near.cents - off).abs() < 1e-6);
        prop_assert!(harp.near(hz, 50.0).iter().any(|near| near.way == way));
    }

    #[test]
    fn no_text_makes_the_reader_panic(text in "\\PC*", harp in harps(), style in styles()) {
        let _ = style.read(&text);
        if let Err(error) = style.read_line_for(&harp, &text) {
            // A sign that is missing at the end is reported one column after the last character.
            prop_assert!((1..=text.chars().count() + 1).contains(&error.column));
            prop_assert!(!error.to_string().is_empty());
        }
        let _ = text.parse::<HarpKey>();
        let _ = text.parse::<layout::Note>();
    }
}
