//! The dashboard's files as the service sends them.

use crate::world::{Engine, on};

#[test]
fn pages_are_sent_once_and_then_only_asked_about() {
    on(Engine::Sqlite, async |world| {
        let ask = async |tag: Option<&str>| {
            let request = world.http.get(format!("{}/", world.server.base));
            let request = tag.iter().fold(request, |request, tag| request.header("if-none-match", *tag));
            request.send().await.expect("an answer")
        };
        let first = ask(None).await;
        assert_eq!(first.status(), 200, "the dashboard is not built: run `make dashboard`");
        let header = |name: &str| first.headers()[name].to_str().expect("text").to_owned();
        assert_eq!(
            (header("cache-control"), header("permissions-policy")),
            ("no-cache".into(), "camera=(self)".into())
        );
        assert_eq!(
            (header("content-type"), header("cross-origin-opener-policy")),
            ("text/html; charset=utf-8".into(), "same-origin".into())
        );
        for rule in ["script-src 'self' 'wasm-unsafe-eval'", "worker-src 'self'", "media-src 'self' blob:"] {
            assert!(header("content-security-policy").contains(rule), "{rule}");
        }
        let tag = header("etag");
        let known = ask(Some(&format!("\"other\", {tag}"))).await;
        assert_eq!((known.status().as_u16(), known.headers()["etag"].to_str().ok()), (304, Some(tag.as_str())));
        assert_eq!(known.text().await.expect("no body"), "");
        assert_eq!(ask(Some("W/\"other\"")).await.status(), 200);
    });
}

#[test]
fn the_description_of_the_api_is_shown_from_the_service_alone() {
    on(Engine::Sqlite, async |world| {
        let ask = async |path: &str| world.http.get(format!("{}{path}", world.server.base)).send().await.expect("an answer");
        let page = ask("/docs").await;
        assert_eq!(page.status(), 200, "the dashboard is not built: run `make dashboard`");
        let rules = page.headers()["content-security-policy"].to_str().expect("text").to_owned();
        assert!(rules.starts_with("default-src 'self'"), "{rules}");
        let html = page.text().await.expect("a page");
        let named = html.split(['"', ' ']).filter(|word| word.starts_with("/docs/"));
        let named: Vec<&str> = named.collect();
        assert!(named.len() >= 4 && !html.contains("http://") && !html.contains("https://"), "{html}");
        for part in named {
            assert_eq!(ask(part).await.status(), 200, "{part}");
        }
        assert_eq!(ask("/docs/nothing.js").await.status(), 404);
    });
}
