//! An adapter that types.

use std::os::fd::OwnedFd;
use std::path::{Path, PathBuf};
use std::sync::Once;

use evdev::uinput::VirtualDevice;
use evdev::{AttributeSet, EventType, InputEvent, KeyCode};
use rustix::fs::{Mode, OFlags};

use crate::rig::skipped;

/// A virtual input device, reached by a link as udev would make it, or a pipe into which events are played.
pub(super) struct Adapter {
    path: PathBuf,
    plugged: Option<Plugged>,
}

enum Plugged {
    Virtual(std::cell::RefCell<VirtualDevice>),
    Pipe(OwnedFd),
}

/// Characters, their key codes and whether shift is held, from `linux/input-event-codes.h` and the US layout.
const KEYS: [(char, u16, bool); 22] = [
    ('1', 2, false),
    ('2', 3, false),
    ('3', 4, false),
    ('4', 5, false),
    ('5', 6, false),
    ('6', 7, false),
    ('7', 8, false),
    ('8', 9, false),
    ('9', 10, false),
    ('0', 11, false),
    ('-', 12, false),
    ('.', 52, false),
    (',', 51, false),
    ('\n', 28, false),
    (' ', 57, false),
    ('!', 2, true),
    ('@', 3, true),
    ('#', 4, true),
    ('$', 5, true),
    ('<', 51, true),
    ('+', 13, true),
    ('/', 53, false),
];

const SHIFT: u16 = 42;

impl Adapter {
    pub(super) fn plugged(path: &Path) -> Self {
        let mut adapter = Self { path: path.to_owned(), plugged: None };
        adapter.plug();
        adapter
    }

    pub(super) fn plug(&mut self) {
        self.plugged = Some(if let Some(mut device) = virtual_device() {
            let node = device.enumerate_dev_nodes_blocking().unwrap().next().unwrap().unwrap();
            std::os::unix::fs::symlink(node, &self.path).unwrap();
            Plugged::Virtual(device.into())
        } else {
            let made = std::process::Command::new("mkfifo").arg(&self.path).status().unwrap();
            assert!(made.success());
            let flags = OFlags::RDWR | OFlags::NONBLOCK | OFlags::CLOEXEC;
            Plugged::Pipe(rustix::fs::open(&self.path, flags, Mode::empty()).unwrap())
        });
    }

    pub(super) fn pull(&mut self) {
        std::fs::remove_file(&self.path).unwrap();
        self.plugged = None;
    }

    /// Presses keys one after the other.
    pub(super) fn keys(&self, keys: &[u16]) {
        for key in keys {
            self.event(*key, 1);
            self.event(*key, 0);
        }
    }

    pub(super) fn types(&self, text: &str) {
        for wanted in text.chars() {
            let (_, key, shifted) = KEYS.iter().find(|(of, ..)| *of == wanted).unwrap();
            if *shifted {
                self.event(SHIFT, 1);
            }
            self.keys(&[*key]);
            if *shifted {
                self.event(SHIFT, 0);
            }
        }
    }

    fn event(&self, key: u16, value: i32) {
        match self.plugged.as_ref().unwrap() {
            Plugged::Virtual(device) => {
                let event = InputEvent::new(EventType::KEY.0, key, value);
                device.borrow_mut().emit(&[event]).unwrap();
            }
            Plugged::Pipe(pipe) => {
                // As the kernel writes it (`struct input_event` of `linux/input.h`): two words of time, type,
                // code, value; then SYN_REPORT.
                let one = |kind: u16, code: u16, value: i32| {
                    let mut bytes = vec![0; 2 * size_of::<usize>()];
                    bytes.extend(kind.to_ne_bytes());
                    bytes.extend(code.to_ne_bytes());
                    bytes.extend(value.to_ne_bytes());
                    bytes
                };
                let bytes = [one(1, key, value), one(0, 0, 0)].concat();
                assert_eq!(rustix::io::write(pipe, &bytes).unwrap(), bytes.len());
            }
        }
    }
}

fn virtual_device() -> Option<VirtualDevice> {
    static SAID: Once = Once::new();
    let made = VirtualDevice::builder().and_then(|builder| {
        let keys: AttributeSet<KeyCode> = (1..128).map(KeyCode::new).collect();
        builder.name("Adapter of a test").with_keys(&keys)?.build()
    });
    match made {
        Ok(device) => Some(device),
        Err(error) => {
            SAID.call_once(|| {
                skipped(
                    "a virtual input device (its events are played into a pipe)",
                    &error.to_string(),
                );
            });
            None
        }
    }
}
