//! `ohmbook watch`: bind at every save, and serve it on this computer.

use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::process::{Command, Stdio};

use camino::Utf8Path;
use ohmbook::finding::{Summary, draw, draw_summary};
use ohmbook::watch::{Attempt, Wanted, Watch};

use super::{Done, Outcome, is_notebook, say, style, tell, today};

/// Where to serve, and whether to show it.
#[derive(clap::Args)]
pub struct Place {
    /// Port to serve at [default: one that the system picks]
    #[arg(long, default_value_t = 0, hide_default_value = true)]
    port: u16,
    /// Address to serve at; whoever can reach it can read the notebook
    #[arg(long, default_value_t = Ipv4Addr::LOCALHOST.into())]
    address: IpAddr,
    /// Open the first sheet with whatever this computer opens pages with
    #[arg(long)]
    open: bool,
}

/// Watches the notebook in `dir` until Ctrl-C.
pub fn run(dir: &Utf8Path, place: &Place) -> Done {
    if !is_notebook(dir) {
        return Err(format!(
            "there is no `notebook.toml` in `{dir}`; name the notebook's folder, or make one with \
             `ohmbook start DIR`"
        ));
    }
    let watch = Watch::open(Wanted {
        folder: dir.to_owned(),
        address: place.address,
        port: place.port,
        today,
    })
    .map_err(|error| error.to_string())?;
    let stop = watch.stopper();
    ctrlc::set_handler(move || stop.stop())
        .map_err(|error| format!("Ctrl-C could not be taken hold of: {error}"))?;

    let address = watch.address();
    let page = format!("http://{address}/");
    say(&format!("watching {dir}\n{page}\nCtrl-C ends it"))?;
    if !address.ip().is_loopback() {
        tell(&format!(
            "warning: {address} can be reached from other computers, and whoever reaches it can \
             read this notebook; leave out `--address` to keep it to this one"
        ))?;
    }
    if place.open {
        open(&format!("http://{}/", reached_from_here(address)))?;
    }
    watch
        // What cannot be printed is seen in the browser all the same.
        .run(|attempt| drop(report(attempt)))
        .map_err(|error| error.to_string())?;
    Ok(Outcome::Holds)
}

/// An address that stands for every address of this computer is reached at
/// loopback.
fn reached_from_here(address: SocketAddr) -> SocketAddr {
    match address.ip() {
        ip if !ip.is_unspecified() => address,
        IpAddr::V4(_) => SocketAddr::new(Ipv4Addr::LOCALHOST.into(), address.port()),
        IpAddr::V6(_) => SocketAddr::new(std::net::Ipv6Addr::LOCALHOST.into(), address.port()),
    }
}

/// Prints how a try at binding went.
fn report(attempt: &Attempt) -> Result<(), String> {
    if let Some(notebook) = &attempt.notebook {
        let style = style(notebook, false);
        let drawn = draw(&notebook.findings, &notebook.sources, &style);
        let summary = Summary::of(&notebook.findings, Some(notebook.tally()));
        tell(&format!("{drawn}{}", draw_summary(&summary, &style)))?;
    }
    if let Some(fault) = &attempt.fault {
        tell(&format!("error: {fault}"))?;
    }
    let took = attempt.took.as_millis();
    match attempt.files {
        Some(files) => say(&format!(
            "{files} files bound in {took} ms, {} of them changed",
            attempt.changed
        )),
        None => say(&format!(
            "not bound ({took} ms); open pages show what stands against it"
        )),
    }
}

/// Opens an address with the system's opener.
fn open(page: &str) -> Result<(), String> {
    let program = if cfg!(target_os = "macos") {
        "open"
    } else if cfg!(windows) {
        "explorer"
    } else {
        "xdg-open"
    };
    let mut opener = Command::new(program);
    opener
        .arg(page)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null());
    match opener.spawn() {
        Ok(mut child) => {
            // Some openers stay for as long as the browser does.
            std::thread::spawn(move || child.wait());
            Ok(())
        }
        Err(error) => tell(&format!(
            "warning: `{program}` could not be run ({error}); open {page} yourself"
        )),
    }
}
