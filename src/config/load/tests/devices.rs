//! Pedals and scanners.

use super::*;

#[test]
fn pedals_and_scanners_say_how_they_talk_or_their_place_does() {
    use crate::{DeviceKind, ModemLine};
    let station =
        |keys: &str| format!("{GOOD}[[station]]\nname = \"s\"\ngauges = [\"plate\"]\n{keys}\n");
    for (keys, kind, path) in [
        ("pedal = \"/dev/input/by-id/p\"", DeviceKind::PedalKeys, "/dev/input/by-id/p"),
        (
            "pedal = \"cts:/dev/serial/by-id/p\"",
            DeviceKind::PedalLine(ModemLine::Cts),
            "/dev/serial/by-id/p",
        ),
        ("pedal = \"ri:/dev/ttyS1\"", DeviceKind::PedalLine(ModemLine::Ri), "/dev/ttyS1"),
        ("scanner = \"/dev/input/by-id/s\"", DeviceKind::ScannerKeys, "/dev/input/by-id/s"),
        ("scanner = \"/dev/serial/by-id/s\"", DeviceKind::ScannerPort, "/dev/serial/by-id/s"),
        ("scanner = \"keys:/srv/s\"", DeviceKind::ScannerKeys, "/srv/s"),
    ] {
        let shop = Shop::new(&station(keys));
        assert_eq!(shop.told(), [""; 0], "{keys}");
        let devices = shop.loaded().devices;
        let [device] = devices.as_slice() else { panic!("{keys}: {devices:?}") };
        assert_eq!((device.station.as_str(), device.kind), ("s", kind), "{keys}");
        assert_eq!(device.path, std::path::Path::new(path));
    }
    // A gauge's port is no scanner's.
    let shop = Shop::new(&station("scanner = \"/dev/serial/by-id/one\""));
    let told = shop.told();
    assert!(told[0].contains("it is the port of gauge \"plate\" already"), "{told:?}");
}

#[test]
fn one_pedal_is_one_stations_and_a_station_has_one_pedal() {
    let more = |own: &str, other: &str| {
        let gauge =
            "[[gauge]]\nname = \"b\"\nkind = \"dial\"\nunit = \"in\"\nresolution = \"0.0001 in\"\n";
        format!(
            "{GOOD}{gauge}[[station]]\nname = \"s\"\ngauges = [\"plate\"]\n{own}\n\
             [[station]]\nname = \"t\"\ngauges = [\"b\"]\n{other}\n"
        )
    };
    let shop = Shop::new(&more("pedal = \"dev/p\"", "pedal = \"cts:dev/q\""));
    assert_eq!(shop.told(), [""; 0]);
    assert_eq!(shop.loaded().devices.len(), 2);
    // The same device by another name.
    std::fs::create_dir(shop.path("dev")).unwrap();
    std::fs::write(shop.path("dev/p"), "").unwrap();
    std::os::unix::fs::symlink("p", shop.path("dev/q")).unwrap();
    let told = shop.told();
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(told[0].contains("dev/q cannot be the pedal of station \"t\""), "{told:?}");
    assert!(told[0].contains("it is the pedal of station \"s\" already"), "{told:?}");
    for (own, sentence) in [
        ("pedal = \"a\"\npedal = \"b\"", "\"pedal\" is written twice"),
        ("pedal = [\"a\", \"b\"]", "a station has one pedal, and this is a list"),
        ("pedal = \"a\"\nscanner = \"keys:a\"", "it is the pedal of station \"s\" already"),
    ] {
        let told = Shop::new(&more(own, "")).told();
        assert_eq!(told.len(), 1, "{told:?}");
        assert!(told[0].contains(sentence), "{told:?}");
    }
}
