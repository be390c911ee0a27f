//! What the small CLAP host answers when the plugin calls it.

use clack_extensions::gui::{GuiSize, HostGui, HostGuiImpl};
use clack_extensions::latency::{HostLatency, HostLatencyImpl};
use clack_host::prelude::*;
use std::sync::atomic::{AtomicBool, Ordering};

/// The host's side of things: it is asked for little.
pub struct Host;

/// What the plugin may call from any thread.
#[derive(Default)]
pub struct Shared {
    /// The plugin wants to be called on the main thread.
    wanted: AtomicBool,
}

/// What the plugin may call from the main thread.
pub struct Main;

impl SharedHandler<'_> for Shared {
    fn request_restart(&self) {}
    fn request_process(&self) {}
    fn request_callback(&self) {
        self.wanted.store(true, Ordering::SeqCst);
    }
}

impl MainThreadHandler<'_> for Main {}

impl HostLatencyImpl for Main {
    fn changed(&self) {}
}

impl HostGuiImpl for Shared {
    fn resize_hints_changed(&self) {}
    fn request_resize(&self, _: GuiSize) -> Result<(), HostError> {
        Ok(())
    }
    fn request_show(&self) -> Result<(), HostError> {
        Ok(())
    }
    fn request_hide(&self) -> Result<(), HostError> {
        Ok(())
    }
    fn closed(&self, _: bool) {}
}

impl HostHandlers for Host {
    type Shared<'a> = Shared;
    type MainThread<'a> = Main;
    type AudioProcessor<'a> = ();

    fn declare_extensions(builder: &mut HostExtensions<Self>, _: &Shared) {
        builder.register::<HostGui>().register::<HostLatency>();
    }
}

impl Shared {
    /// Whether the plugin has asked to be called since the last time.
    pub fn asked(&self) -> bool {
        self.wanted.swap(false, Ordering::SeqCst)
    }
}
