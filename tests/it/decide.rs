//! `decide` as a browser sees it: who is answered, what an answer changes, and that the file changes on a press alone.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

use crate::fixture::folder;

/// A page served from a copy of a fixture.
pub(crate) struct Served {
    place: tempfile::TempDir,
    child: Child,
    port: u16,
    token: String,
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

struct Reply {
    status: u16,
    head: String,
    body: String,
}

pub(crate) fn copied(name: &str) -> tempfile::TempDir {
    let place = tempfile::tempdir().unwrap();
    for entry in std::fs::read_dir(folder(name)).unwrap() {
        let path = entry.unwrap().path();
        std::fs::copy(&path, place.path().join(path.file_name().unwrap())).unwrap();
    }
    place
}

pub(crate) fn serve(place: tempfile::TempDir) -> Served {
    let mut command = Command::new(env!("CARGO_BIN_EXE_holdground"));
    command.args(["decide", "field.toml"]).current_dir(place.path()).stdout(Stdio::piped());
    let mut child = command.spawn().unwrap();
    let mut lines = BufReader::new(child.stdout.as_mut().unwrap()).lines();
    let address = lines.find_map(|line| Some(line.ok()?.trim().strip_prefix("http://127.0.0.1:")?.to_owned())).unwrap();
    let (port, rest) = address.split_once('/').unwrap();
    Served { place, child, port: port.parse().unwrap(), token: rest.trim_end_matches('/').to_owned() }
}

impl Served {
    pub(crate) fn field_file(&self) -> PathBuf {
        self.place.path().join("field.toml")
    }

    pub(crate) fn folder(&self) -> &Path {
        self.place.path()
    }

    /// Of the page, as printed.
    pub(crate) fn address(&self) -> String {
        format!("http://127.0.0.1:{}/{}/", self.port, self.token)
    }

    /// Waits until the program has ended by itself.
    pub(crate) fn end(&mut self) -> std::process::ExitStatus {
        self.child.wait().unwrap()
    }

    fn raw(&self, request: &str) -> Reply {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        // The server may refuse, and close, before it has read all of a long request.
        let _ = stream.write_all(request.as_bytes());
        let mut bytes = Vec::new();
        let _ = stream.read_to_end(&mut bytes);
        let text = String::from_utf8_lossy(&bytes).into_owned();
        let (head, body) = text.split_once("\r\n\r\n").unwrap_or((&text, ""));
        let status = head.split(' ').nth(1).and_then(|status| status.parse().ok()).unwrap_or(0);
        Reply { status, head: head.to_lowercase(), body: body.to_owned() }
    }

    fn get(&self, path: &str, host: &str) -> Reply {
        self.raw(&format!("GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n"))
    }

    fn host(&self) -> String {
        format!("127.0.0.1:{}", self.port)
    }

    fn page(&self) -> Reply {
        self.get(&format!("/{}/", self.token), &self.host())
    }

    fn post_from(&self, below: &str, form: &str, more: &str) -> Reply {
        self.raw(&format!(
            "POST /{}/{below} HTTP/1.1\r\nHost: {}\r\n{more}Content-Type: application/x-www-form-urlencoded\r\n\
             Content-Length: {}\r\nConnection: close\r\n\r\n{form}",
            self.token,
            self.host(),
            form.len()
        ))
    }

    fn post(&self, below: &str, form: &str) -> Reply {
        self.post_from(below, form, &format!("Origin: http://{}\r\n", self.host()))
    }

    fn told(&self, form: &str) -> serde_json::Value {
        let reply = self.post("answers", form);
        assert_eq!(reply.status, 200, "{}", reply.body);
        serde_json::from_str(&reply.body).unwrap()
    }
}

/// Answers of the page's inputs as a browser would send them, some of them replaced.
fn form(page: &str, replaced: &[(&str, &str)]) -> String {
    let document = page.split("<form").nth(1).unwrap();
    let attribute = |tag: &str, name: &str| {
        let rest = tag.split(&format!(" {name}=\"")).nth(1)?;
        Some(
            rest.split('"')
                .next()?
                .replace("&lt;", "<")
                .replace("&gt;", ">")
                .replace("&quot;", "\"")
                .replace("&amp;", "&"),
        )
    };
    let mut pairs: Vec<(String, String)> = Vec::new();
    for tag in document.split("<input ").skip(1) {
        let tag = format!(" {}", tag.split('>').next().unwrap());
        let is_pick = tag.contains("type=\"checkbox\"") || tag.contains("type=\"radio\"");
        if !is_pick || tag.contains(" checked") {
            pairs.push((attribute(&tag, "name").unwrap(), attribute(&tag, "value").unwrap()));
        }
    }
    for select in document.split("<select ").skip(1) {
        let tag = format!(" {}", select.split('>').next().unwrap());
        let chosen = select.split("<option").find(|option| option.contains(" selected")).unwrap();
        pairs.push((attribute(&tag, "name").unwrap(), attribute(chosen, "value").unwrap()));
    }
    for (name, value) in replaced {
        pairs.retain(|(known, _)| known != name);
        pairs.push(((*name).to_owned(), (*value).to_owned()));
    }
    let encoded = |text: &str| text.bytes().map(|byte| format!("%{byte:02X}")).collect::<String>();
    pairs.iter().map(|(name, value)| format!("{}={}", encoded(name), encoded(value))).collect::<Vec<_>>().join("&")
}

pub(crate) fn run(place: &Path, out: &str) -> Vec<u8> {
    let mut command = Command::new(env!("CARGO_BIN_EXE_holdground"));
    let output = command.args(["run", "field.toml", "--out", out]).current_dir(place).output().unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    std::fs::read(place.join(out).join("tables/rates.csv")).unwrap()
}

#[test]
fn a_whole_round_four_zones_written_and_run_again() {
    let mut served = serve(copied("demo"));
    let before = std::fs::read_to_string(served.field_file()).unwrap();
    let page = served.page();
    assert_eq!(page.status, 200);
    let unchanged = served.told(&form(&page.body, &[]));
    assert_eq!(unchanged["changed"], serde_json::json!([]));
    let rates_of_file = unchanged["rates_csv"].as_str().unwrap().to_owned();
    assert_eq!(run(served.place.path(), "as-it-was"), rates_of_file.as_bytes());

    // Goals stated one a zone do not fit four zones: told beside the question, with the same figures over the same ground.
    let refused = served.told(&form(&page.body, &[("zones.count", "4")]));
    assert_eq!(refused["worked_out"], false);
    assert!(refused["parts"]["q2-shown"].as_str().unwrap().contains("figures-and-zones"));
    assert!(refused["parts"]["since"].as_str().unwrap().contains("see at question 2"));
    assert_eq!(refused["rates_csv"], rates_of_file.as_str(), "shown is the last that could be worked out");
    let told = served.told(&form(&page.body, &[("zones.count", "4"), ("carry", "yes")]));
    assert_eq!((&told["worked_out"], &told["changed"]), (&true.into(), &serde_json::json!([2])));
    assert!(told["parts"]["q2-head"].as_str().unwrap().contains("changed"));
    assert!(told["since"].as_str().unwrap().starts_with("Since the file: 4 zones, not 3; "), "{}", told["since"]);
    let goals = told["answers"]["field.crops[1].goal_bu_ac"].as_str().unwrap();
    assert_eq!(goals.split(',').count(), 4);
    let rates = told["rates_csv"].as_str().unwrap();
    assert_ne!(rates, rates_of_file);

    // Nothing was written so far.
    assert_eq!(std::fs::read_to_string(served.field_file()).unwrap(), before);
    let page = served.page();
    let written = served.post("write", &form(&page.body, &[]));
    assert!(written.body.contains("The answers are written to field.toml."), "{}", &written.body[..2000]);
    let after = std::fs::read_to_string(served.field_file()).unwrap();
    let changed: Vec<(&str, &str)> = before.lines().zip(after.lines()).filter(|(old, new)| old != new).collect();
    assert_eq!(before.lines().count(), after.lines().count());
    assert_eq!(changed.len(), 4, "the count, two goals, nitrogen: {changed:?}");
    assert!(after.contains("count = 4                              # 1 to 6 (1 = whole field)"));
    let comments =
        |text: &str| text.lines().filter_map(|line| Some(line.split_once('#')?.1.to_owned())).collect::<Vec<_>>();
    assert_eq!(comments(&before), comments(&after));
    assert_eq!(run(served.place.path(), "four"), rates.as_bytes(), "the page told what a run gives");

    let last = served.post("stop", "");
    assert!(last.status == 200 && last.body.contains("Stopped"));
    assert_eq!(served.child.wait().unwrap().code(), Some(0));
}

#[test]
fn only_its_own_page_on_this_machine_is_answered() {
    let served = serve(copied("demo"));
    let page = served.page();
    for header in [
        "content-security-policy: default-src 'none'; script-src 'self';",
        "x-content-type-options: nosniff",
        "referrer-policy: no-referrer",
        "cache-control: no-store",
    ] {
        assert!(page.head.contains(header), "{header} not in {}", page.head);
    }
    let wrong = format!("/{}/", "0".repeat(served.token.len()));
    assert_eq!(served.get(&wrong, &served.host()).status, 404);
    assert_eq!(served.get("/", &served.host()).status, 404);
    let own = format!("/{}/", served.token);
    for host in ["evil.example", "127.0.0.1", &format!("evil.example:{}", served.port)] {
        assert_eq!(served.get(&own, host).status, 403, "{host}");
    }
    assert_eq!(served.get(&own, &format!("localhost:{}", served.port)).status, 200);
    for path in ["field.toml", "../field.toml", "..%2ffield.toml", "lab.csv", "/etc/passwd"] {
        assert_eq!(served.get(&format!("{own}{path}"), &served.host()).status, 404, "{path}");
    }
    for (more, status) in [
        (String::new(), 403),
        ("Origin: http://evil.example\r\n".to_owned(), 403),
        ("Origin: null\r\n".to_owned(), 403),
        ("Origin: null\r\nSec-Fetch-Site: cross-site\r\n".to_owned(), 403),
        ("Origin: null\r\nSec-Fetch-Site: same-origin\r\n".to_owned(), 200),
        ("Sec-Fetch-Site: same-origin\r\n".to_owned(), 200),
        (format!("Origin: http://localhost:{}\r\n", served.port), 200),
    ] {
        assert_eq!(served.post_from("answers", "", &more).status, status, "{more}");
    }
    assert_eq!(served.post("answers", &"a".repeat(65 * 1024)).status, 413);
    assert_eq!(served.post("answers", "no.such.input=1").status, 400);
    let methods = served.raw(&format!("DELETE {own} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", served.host()));
    assert_eq!(methods.status, 405);
}

#[test]
fn refused_answers_compute_nothing_and_a_file_changed_meanwhile_stays() {
    let served = serve(copied("demo"));
    let before = std::fs::read_to_string(served.field_file()).unwrap();
    let page = served.page().body;
    let part = |told: &serde_json::Value, id: &str| told["parts"][id].as_str().unwrap().to_owned();
    for (name, value, shown, words) in [
        ("hold.k2o_most_lb_ac", "1e3", "q5-shown", "is not a number"),
        ("hold.k2o_most_lb_ac", "5", "q5-shown", "must lie between 10 and 600"),
        (
            "products.POT.usd_short_ton",
            "<script>alert(1)</script>",
            "q6-shown",
            "&lt;script&gt;alert(1)&lt;/script&gt;",
        ),
        ("need.lime.target_ph", "9", "q4-shown", "is not a pH to lime to"),
        ("zones.smallest_ac", "-1", "q3-shown", "must lie between 0 and 1000"),
        ("zones.count", "9", "q2-shown", "not one of the choices"),
    ] {
        let told = served.told(&form(&page, &[(name, value)]));
        assert_eq!(told["worked_out"], false, "{name}");
        assert!(part(&told, shown).contains(words), "{name} = {value}: {}", part(&told, shown));
        let said = served.post("write", &form(&page, &[(name, value)])).body;
        assert!(said.contains("field.toml was not written"));
        assert_eq!(std::fs::read_to_string(served.field_file()).unwrap(), before);
    }
    let other = format!("{before}# a line of someone else\n");
    std::fs::write(served.field_file(), &other).unwrap();
    let said = served.post("write", &form(&page, &[("hold.k2o_most_lb_ac", "90")])).body;
    assert!(said.contains("has changed on disk since it was read"));
    assert_eq!(std::fs::read_to_string(served.field_file()).unwrap(), other);
    assert_eq!(std::fs::read_dir(served.place.path()).unwrap().count(), 5, "nothing is left beside it");
    let left = served.post("leave", "");
    assert!(left.body.contains("Every answer is the file") && !left.body.contains("class=\"changed\""));
}

#[test]
fn stages_that_are_kept_give_what_a_run_from_the_start_gives() {
    let served = serve(copied("demo"));
    let page = served.page().body;
    let of_file = served.told(&form(&page, &[]))["rates_csv"].clone();
    let mut replaced: Vec<(&str, &str)> = Vec::new();
    let mut before = of_file.clone();
    for answer in [
        ("products.POT.usd_short_ton", "600"),
        ("need.lime.target_ph", "6.0"),
        ("hold.k_rise_percent_of_cec", "1"),
        ("samples.leave_out", "22"),
        ("zones.smallest_ac", "2"),
        ("need.lime.target_ph", "6.2"),
    ] {
        replaced.retain(|(name, _)| *name != answer.0);
        replaced.push(answer);
        let told = served.told(&form(&page, &replaced));
        assert_eq!(told["worked_out"], true, "{answer:?}");
        let moves_rates = !["products.POT.usd_short_ton", "zones.smallest_ac"].contains(&answer.0);
        assert_eq!(told["rates_csv"] != before, moves_rates, "{answer:?}");
        before = told["rates_csv"].clone();
    }
    // Back and forth: what was kept of other answers does not show.
    assert_eq!(served.told(&form(&page, &[]))["rates_csv"], of_file);
    let all = form(&page, &replaced);
    assert_eq!(served.told(&all)["rates_csv"], before);
    assert!(served.post("write", &all).body.contains("The answers are written"));
    assert_eq!(run(served.place.path(), "all"), before.as_str().unwrap().as_bytes());
}

#[test]
fn hostile_names_stay_text() {
    let place = copied("demo");
    let hostile = "<script>alert(1)</script>\u{202e}\u{1f600}&amp;'";
    let lab = std::fs::read_to_string(place.path().join("lab.csv")).unwrap();
    let long = "x".repeat(200);
    let lab = lab.replace("C-07,", &format!("{hostile},")).replace("C-08,", &format!("{long},"));
    assert!(lab.contains(hostile) && lab.contains(&long));
    std::fs::write(place.path().join("lab.csv"), lab).unwrap();
    let text = std::fs::read_to_string(place.path().join("field.toml")).unwrap();
    let text = text.replace("Three-soils field (invented)", "</title><script>alert(2)</script>");
    std::fs::write(place.path().join("field.toml"), text).unwrap();
    let served = serve(place);
    let page = served.page().body;
    assert_eq!(page.matches("<script").count(), 1, "only the page's own script");
    assert!(page.contains("&lt;script&gt;alert(1)&lt;/script&gt;") && page.contains(&long));
    let at = page.split("name=\"samples.leave_out\" value=\"").skip(1);
    let index = at.map(|rest| rest.split('"').next().unwrap()).zip(1..).find(|(value, _)| {
        let own = page.split(&format!("name=\"samples.leave_out\" value=\"{value}\"")).nth(1).unwrap();
        own.split("</label>").next().unwrap().contains("alert(1)")
    });
    let (value, _) = index.unwrap();
    let reply = served.post("write", &form(&page, &[("samples.leave_out", value)]));
    assert!(reply.body.contains("The answers are written"));
    let after = std::fs::read_to_string(served.field_file()).unwrap();
    let parsed: toml_edit::DocumentMut = after.parse().unwrap();
    assert_eq!(parsed["samples"]["leave_out"][0].as_str(), Some(hostile));
    assert_eq!(reply.body.matches("<script").count(), 1);
}
