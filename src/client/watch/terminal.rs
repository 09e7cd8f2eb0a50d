//! The terminal: taken over while the screen is shown, and given back as it was, however the screen ends.

use std::io::{self, Write};
use std::sync::atomic::{AtomicBool, Ordering};

use ratatui::Terminal;
use ratatui::backend::CrosstermBackend;
use ratatui::buffer::Buffer;
use ratatui::crossterm::cursor::{Hide, Show};
use ratatui::crossterm::execute;
use ratatui::crossterm::terminal::{
    EnterAlternateScreen, LeaveAlternateScreen, disable_raw_mode, enable_raw_mode,
};
use ratatui::layout::{Position, Rect};

/// Whether the terminal is taken over at the moment.
static TAKEN: AtomicBool = AtomicBool::new(false);

/// The terminal while the screen has it.
#[derive(Debug)]
pub(super) struct Taken {
    terminal: Terminal<CrosstermBackend<io::Stdout>>,
    /// What it shows.
    shown: Option<Buffer>,
}

impl Taken {
    /// Takes the terminal over. From here on a panic gives it back before its message is printed, also in a
    /// build that does not unwind.
    pub(super) fn take() -> io::Result<Self> {
        let tell = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |panic| {
            give_back();
            tell(panic);
        }));
        TAKEN.store(true, Ordering::SeqCst);
        let taken = || -> io::Result<_> {
            enable_raw_mode()?;
            execute!(io::stdout(), EnterAlternateScreen, Hide)?;
            Terminal::new(CrosstermBackend::new(io::stdout()))
        };
        taken().map(|terminal| Self { terminal, shown: None }).inspect_err(|_| give_back())
    }

    /// Draws, and writes nothing at all where the screen would not change.
    pub(super) fn draw(&mut self, mut draw: impl FnMut(Rect, &mut Buffer)) -> io::Result<()> {
        let area = Rect::from((Position::ORIGIN, self.terminal.size()?));
        let mut wanted = Buffer::empty(area);
        draw(area, &mut wanted);
        if self.shown.as_ref() == Some(&wanted) {
            return Ok(());
        }
        self.terminal.draw(|frame| {
            // The terminal may have another size by now; the news of that draws it again.
            if frame.area() == area {
                frame.buffer_mut().clone_from(&wanted);
            }
        })?;
        self.shown = Some(wanted);
        Ok(())
    }

    /// Rings the bell.
    pub(super) fn bell() -> io::Result<()> {
        let mut out = io::stdout().lock();
        out.write_all(b"\x07")?;
        out.flush()
    }
}

impl Drop for Taken {
    fn drop(&mut self) {
        give_back();
    }
}

/// Gives the terminal back, once. It may be gone by now; that is no reason to stop half way.
fn give_back() {
    if TAKEN.swap(false, Ordering::SeqCst) {
        drop(execute!(io::stdout(), LeaveAlternateScreen, Show));
        drop(disable_raw_mode());
    }
}
