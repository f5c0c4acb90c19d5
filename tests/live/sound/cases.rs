//! What is tried, each in a process of its own.

use crate::room::{self, Ear, listen, play};
use crate::{endurance, loudspeaker, sine, soak};
use sound::{Channel, FeedEvent, QuietStderr, Speaker, SpeakerEvent, devices};
use std::process::ExitCode;
use std::thread;
use std::time::{Duration, Instant};

/// All cases, in the order in which they run. Some leave another server behind, so the quiet ones come first.
pub(crate) const ALL: [&str; 22] = [
    "devices-are-listed-quietly",
    "a-tone-is-heard-through-pulseaudio",
    "a-tone-is-heard-through-alsa",
    "channels-are-told-apart",
    "a-device-that-is-not-there-is-named",
    "without-a-cookie-alsa-is-used",
    "a-tone-is-played-through-pulseaudio",
    "a-tone-is-played-through-alsa",
    "own-sound-is-told-apart-by-the-clock",
    "a-loudspeaker-that-was-starved-says-so",
    "opened-twenty-times-nothing-is-left-behind",
    "lost-twenty-times-through-pulseaudio-nothing-is-left-behind",
    "lost-twenty-times-through-alsa-nothing-is-left-behind",
    "a-sink-taken-away-and-put-back-through-pulseaudio",
    "a-sink-taken-away-and-put-back-through-alsa",
    "a-server-killed-and-restarted-under-pulseaudio",
    "a-server-killed-and-restarted-under-alsa",
    "a-server-killed-and-restarted-under-a-speaker",
    "a-server-that-stands-still",
    "a-process-that-was-stopped-keeps-its-microphone",
    "a-server-that-stays-away-is-waited-for-in-silence",
    "no-server-at-all",
];

const ALSA: Option<&str> = Some("alsa:default");

/// Cases that take long and run only when they are named.
pub(crate) const LONG: [&str; 3] = ["soak-through-pulseaudio", "soak-through-alsa", "what-a-speaker-costs"];

/// Runs one case.
pub(crate) fn run(name: &str) -> ExitCode {
    match name {
        "devices-are-listed-quietly" => devices_are_listed_quietly(),
        "a-tone-is-heard-through-pulseaudio" => return a_tone_is_heard(None),
        "a-tone-is-heard-through-alsa" => return a_tone_is_heard(ALSA),
        "channels-are-told-apart" => channels_are_told_apart(),
        "a-device-that-is-not-there-is-named" => a_missing_device_is_named(),
        "without-a-cookie-alsa-is-used" => without_a_cookie_alsa_is_used(),
        "a-tone-is-played-through-pulseaudio" => return loudspeaker::a_tone_is_played(None),
        "a-tone-is-played-through-alsa" => return loudspeaker::a_tone_is_played(ALSA),
        "own-sound-is-told-apart-by-the-clock" => loudspeaker::own_sound_is_told_apart(),
        "a-loudspeaker-that-was-starved-says-so" => loudspeaker::a_starved_one_says_so(),
        "opened-twenty-times-nothing-is-left-behind" => endurance::opened_twenty_times(),
        "lost-twenty-times-through-pulseaudio-nothing-is-left-behind" => endurance::lost_twenty_times(None),
        "lost-twenty-times-through-alsa-nothing-is-left-behind" => endurance::lost_twenty_times(ALSA),
        "a-sink-taken-away-and-put-back-through-pulseaudio" => a_sink_goes_and_returns(None),
        "a-sink-taken-away-and-put-back-through-alsa" => a_sink_goes_and_returns(ALSA),
        "a-server-killed-and-restarted-under-pulseaudio" => a_server_dies_and_returns(None),
        "a-server-killed-and-restarted-under-alsa" => a_server_dies_and_returns(ALSA),
        "a-server-killed-and-restarted-under-a-speaker" => loudspeaker::a_server_dies_under_it(),
        "a-server-that-stands-still" => a_server_stands_still(),
        "a-process-that-was-stopped-keeps-its-microphone" => a_stopped_process_keeps_its_microphone(),
        "a-server-that-stays-away-is-waited-for-in-silence" => an_absent_server_is_waited_for_in_silence(),
        "no-server-at-all" => no_server_at_all(),
        "soak-through-pulseaudio" => soak::soak(None),
        "what-a-speaker-costs" => soak::speaker(None),
        "soak-through-alsa" => soak::soak(ALSA),
        other => panic!("there is no case {other}"),
    }
    ExitCode::SUCCESS
}

/// A sine of 0.5 has an RMS of 0.5 / √2; its pitch may be off by the rounding of the server's resampler at most.
pub(crate) fn verdict(what: &str, samples: &[f32], hz: f64, amplitude: f64) -> ExitCode {
    let (cents, rms) = (sine::cents_from(samples, hz, 48_000.0), sine::rms(samples));
    let wanted = amplitude / 2f64.sqrt();
    println!("  {what}: {cents:+.3} cents from {hz} Hz, rms {rms:.4} (wanted {wanted:.4})");
    let good = cents.abs() < 1.0 && (rms / wanted - 1.0).abs() < 0.01;
    if good { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

fn devices_are_listed_quietly() {
    let path = room::folder().join("noise.log");
    let log = std::fs::File::create(&path).unwrap();
    let quiet = QuietStderr::start(&log).unwrap();
    eprintln!("written by the test");
    let all = devices().unwrap();
    drop(quiet);
    let said = std::fs::read_to_string(&path).unwrap();
    assert!(said.contains("written by the test"), "standard error did not go into the file");
    println!("  {} lines of the sound libraries were caught", said.lines().count() - 1);
    for device in &all {
        println!("  {device:?}");
    }
    let found = |id: &str, default| all.iter().any(|device| device.id == id && device.is_default == default);
    assert!(found("pulseaudio:room.monitor", true) && found("pulseaudio:room", true));
    assert!(!all.iter().any(|device| device.id.contains("rate") || device.id.contains("jack")));
}

fn a_tone_is_heard(name: Option<&str>) -> ExitCode {
    let _tone = play(&[440.0, 440.0]);
    thread::sleep(Duration::from_millis(700));
    let began = Instant::now();
    let mut ear = Ear::new(listen(name, Channel::Auto).unwrap());
    let opened = began.elapsed();
    assert!(ear.until(Duration::from_secs(5), |ear| !ear.samples.is_empty()));
    println!("  opened in {opened:.1?}, first samples after {:.1?}", began.elapsed());
    let FeedEvent::Opened(origin) = &ear.events[0] else { panic!("{:?}", ear.events) };
    assert_eq!((origin.sample_rate, origin.channels), (48_000.0, 2));
    assert_eq!(origin.host.as_deref(), Some(if name.is_none() { "PulseAudio" } else { "ALSA" }));
    ear.fresh(0.5);
    let first = ear.blocks.len();
    let samples = ear.fresh(1.5).to_vec();
    let mut waits: Vec<_> = ear.blocks[first..].windows(2).map(|pair| pair[1].0 - pair[0].0).collect();
    waits.sort();
    println!(
        "  blocks come every {:.1?}, {:.1?} at the most",
        waits[waits.len() / 2],
        waits[waits.len() - 1]
    );
    assert!(
        !ear.events.iter().any(|event| matches!(event, FeedEvent::Lost { .. } | FeedEvent::Overrun { .. }))
    );
    verdict("heard", &samples, 440.0, 0.5)
}

fn channels_are_told_apart() {
    let _tone = play(&[440.0, 660.0]);
    thread::sleep(Duration::from_millis(700));
    for (channel, left, right) in [("left", 0.5, 0.0), ("right", 0.0, 0.5), ("mix", 0.25, 0.25)] {
        let mut ear = Ear::new(listen(None, channel.parse().unwrap()).unwrap());
        ear.fresh(0.3);
        let samples = ear.fresh(0.5);
        let heard = (sine::amplitude(samples, 440.0, 48_000.0), sine::amplitude(samples, 660.0, 48_000.0));
        println!("  {channel}: {:.3} of 440 Hz, {:.3} of 660 Hz", heard.0, heard.1);
        assert!((heard.0 - left).abs() < 0.02 && (heard.1 - right).abs() < 0.02);
    }
    let text = listen(None, Channel::Only(3)).err().unwrap().to_string();
    println!("  {text}");
    assert!(text.contains("2 channels"));
}

fn a_missing_device_is_named() {
    let text = listen(Some("theremin"), Channel::Auto).err().unwrap().to_string();
    println!("  {text}");
    assert!(text.contains("theremin") && text.contains("Monitor of Null Output"));
    let mut ear = Ear::new(listen(Some("monitor OF"), Channel::Auto).unwrap());
    ear.fresh(0.1);
}

/// Runs once more, in a process of its own, if the variable that names the cookie is set: a process cannot safely
/// change its own environment.
fn without_a_cookie_alsa_is_used() {
    if std::env::var_os("PULSE_COOKIE").is_some() {
        let me = std::env::current_exe().unwrap();
        let status = std::process::Command::new(me).env_remove("PULSE_COOKIE").status().unwrap();
        assert!(status.success());
        return;
    }
    let mut ear = Ear::new(listen(None, Channel::Auto).unwrap());
    assert_eq!(ear.feed.origin().host.as_deref(), Some("ALSA"));
    let told = |ear: &Ear| {
        ear.events.iter().any(|event| matches!(event, FeedEvent::Warning(text) if text.contains("cookie")))
    };
    assert!(ear.until(Duration::from_secs(5), told), "{:?}", ear.events);
    println!("  {:?}", ear.events);
}

/// Waits for the loss and for the return of a device, and for sound after it.
fn lives_through(name: Option<&str>, take_away: impl Fn(), put_back: impl Fn()) {
    let mut ear = Ear::new(listen(name, Channel::Auto).unwrap());
    ear.fresh(0.5);
    take_away();
    let gone = Instant::now();
    let lost = |ear: &Ear| ear.events.iter().any(|event| matches!(event, FeedEvent::Lost { .. }));
    assert!(ear.until(Duration::from_secs(5), lost), "the loss is not told: {:?}", ear.events);
    println!("  the loss is told after {:.1?}", gone.elapsed());
    let before = ear.blocks.last().unwrap().1;
    assert!(!ear.until(Duration::from_secs(3), |ear| ear.events.len() > 100), "a flood of events");
    put_back();
    let back = Instant::now();
    let reopened = |ear: &Ear| ear.events.iter().any(|event| matches!(event, FeedEvent::Reopened(_)));
    assert!(ear.until(Duration::from_secs(15), reopened), "it is not opened again: {:?}", ear.events);
    println!("  it is open again after {:.1?}", back.elapsed());
    let _tone = play(&[440.0, 440.0]);
    let rate = ear.feed.sample_rate();
    assert!(
        ear.until(Duration::from_secs(10), |ear| {
            let newest = ear.samples.len().saturating_sub(4_800);
            (sine::amplitude(&ear.samples[newest..], 440.0, rate) - 0.5).abs() < 0.05
        }),
        "the tone is not heard: {:?}",
        ear.events
    );
    let after = ear.blocks.last().unwrap().1;
    let away = (after.start - before.start) as f64 / rate;
    let real = gone.elapsed().as_secs_f64();
    println!("  the feed has counted {away:.2} s of {real:.2} s; told: {:?}", ear.events);
    assert!((away - real).abs() < 1.5, "time did not go on");
    let closing = Instant::now();
    drop(ear);
    println!("  closed in {:.1?}", closing.elapsed());
    assert!(closing.elapsed() < Duration::from_secs(3));
}

fn a_sink_goes_and_returns(name: Option<&str>) {
    lives_through(name, room::take_sink_away, room::put_sink_back);
}

fn a_server_dies_and_returns(name: Option<&str>) {
    lives_through(name, room::kill_server, room::start_server);
}

fn a_server_stands_still() {
    lives_through(None, || room::signal_server("STOP"), || room::signal_server("CONT"));
}

/// As after Ctrl-Z and `fg`.
fn a_stopped_process_keeps_its_microphone() {
    let mut ear = Ear::new(listen(None, Channel::Auto).unwrap());
    ear.fresh(0.5);
    room::stand_still(3);
    let before = ear.blocks.last().unwrap().1.start;
    ear.fresh(4.0);
    let after = ear.blocks.last().unwrap().1.start;
    println!("  {:.2} s on; told: {:?}", (after - before) as f64 / 48_000.0, ear.events);
    assert!(!ear.events.iter().any(|event| matches!(event, FeedEvent::Lost { .. })));
}

/// Long enough for tries through ALSA, whose library prints a line for each.
fn an_absent_server_is_waited_for_in_silence() {
    let path = room::folder().join("noise.log");
    let quiet = QuietStderr::start(&std::fs::File::create(&path).unwrap()).unwrap();
    let mut ear = Ear::new(listen(None, Channel::Auto).unwrap());
    ear.fresh(0.5);
    let before = ear.events.len();
    room::kill_server();
    ear.until(Duration::from_secs(10), |_| false);
    room::start_server();
    let back = |ear: &Ear| matches!(ear.events.last(), Some(FeedEvent::Reopened(_)));
    let returned = ear.until(Duration::from_secs(15), back);
    drop(quiet);
    let noise = std::fs::read_to_string(&path).unwrap();
    println!("  told: {:?}; on standard error: {noise:?}", &ear.events[before..]);
    assert!(returned && noise.is_empty());
    assert!(matches!(ear.events[before..], [FeedEvent::Lost { .. }, FeedEvent::Reopened(_)]));
}

fn no_server_at_all() {
    room::kill_server();
    let began = Instant::now();
    let text = listen(None, Channel::Auto).err().unwrap().to_string();
    println!("  {text} ({:.1?})", began.elapsed());
    assert!(text.contains("microphone") && text.contains("built-in player"));
    let speaker = Speaker::new(None);
    speaker.play(|rate| Ok(Box::new(loudspeaker::Sine::of(rate, 1.0))));
    let SpeakerEvent::NotOpened(error) = loudspeaker::next(&speaker) else { panic!("it was opened") };
    println!("  {error}");
    assert!(error.to_string().contains("loudspeaker"));
    room::start_server();
}
