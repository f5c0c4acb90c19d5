//! Devices found by what a player may type.

use super::*;

fn device(id: &str, label: &str) -> Found {
    Found { handle: Handle::Pulse, host: Host::Pulse, id: id.into(), label: label.into(), is_monitor: false }
}

fn found(name: &str) -> Vec<String> {
    let all = vec![
        device("alsa_input.usb-0", "USB Audio"),
        device("alsa_input.usb-1", "USB Audio Deluxe"),
        device("alsa_input.pci-0", "Built-in Audio"),
    ];
    matching(all, name).into_iter().map(|found| found.id).collect()
}

#[test]
fn an_id_beats_a_whole_name_and_that_beats_a_part() {
    assert_eq!(found("alsa_input.pci-0"), ["alsa_input.pci-0"]);
    assert_eq!(found("pulseaudio:alsa_input.usb-1"), ["alsa_input.usb-1"]);
    assert_eq!(found("usb audio"), ["alsa_input.usb-0"]);
    assert_eq!(found("deluxe"), ["alsa_input.usb-1"]);
    assert_eq!(found("audio").len(), 3);
    assert!(found("theremin").is_empty());
}

#[test]
fn alsa_plumbing_is_hidden_and_real_devices_are_not() {
    let alsa = cpal::ALL_HOSTS.iter().find(|id| id.name() == "ALSA").unwrap();
    let hidden = |id: &str| is_plumbing(&Found { host: Host::Cpal(*alsa), ..device(id, "x") });
    assert!(["null", "samplerate", "hw:CARD=0,DEV=0", "surround51:CARD=PCH", "jack"].into_iter().all(hidden));
    assert!(!["default", "plughw:CARD=0,DEV=0", "sysdefault:CARD=PCH", "pipewire"].into_iter().any(hidden));
    assert!(!is_plumbing(&device("null", "another sound system may call a device what it likes")));
}
