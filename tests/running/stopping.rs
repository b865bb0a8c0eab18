//! What does not stop the service.

use std::time::Duration;

use super::kit::Running;
use crate::world::{World, on_both};

on_both!(sighup_never_ends_it, async |world: &World| {
    let folder = tempfile::tempdir().expect("a folder");
    let own = folder.path().join("tls").display().to_string();
    for arguments in [vec![], vec!["--tls-self-signed", own.as_str()]] {
        let mut service = Running::start(&world.location, &arguments);
        for _ in 0..3 {
            service.signal("-HUP");
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        assert!(service.lives(), "{arguments:?}: {}", service.logged());
        service.stop().await;
    }
});
