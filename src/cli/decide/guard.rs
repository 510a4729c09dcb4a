//! Who may ask: only a browser on this machine that was given the address, from a page of this server.

use axum::body::Body;
use axum::http::{HeaderMap, header};

/// Most bytes of a form. Fields of a thousand samples need a tenth of it.
const MOST_BYTES: usize = 64 * 1024;
/// Random bytes of an address.
const TOKEN_BYTES: usize = 16;

/// Why a request is refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Refusal {
    NotFound,
    Foreign,
    Method,
    TooLarge,
    NotTheForm,
    Internal,
}

/// The secret part of the address.
pub(super) struct Token(String);

impl Token {
    pub(super) fn draw() -> Result<Token, getrandom::Error> {
        let mut bytes = [0_u8; TOKEN_BYTES];
        getrandom::fill(&mut bytes)?;
        Ok(Token(bytes.iter().map(|byte| format!("{byte:02x}")).collect()))
    }

    pub(super) fn text(&self) -> &str {
        &self.0
    }

    /// Takes as long wherever the first difference lies.
    fn is(&self, other: &str) -> bool {
        let (own, other) = (self.0.as_bytes(), other.as_bytes());
        let differ = own
            .iter()
            .enumerate()
            .fold(0_u8, |differ, (index, byte)| differ | (byte ^ other.get(index).copied().unwrap_or(!byte)));
        std::hint::black_box(differ) == 0 && own.len() == other.len()
    }
}

/// What is asked for below the token: `/TOKEN/decide.css` is `decide.css`.
pub(super) fn below_token<'p>(path: &'p str, token: &Token) -> Result<&'p str, Refusal> {
    let (given, rest) = path.strip_prefix('/').and_then(|path| path.split_once('/')).ok_or(Refusal::NotFound)?;
    if token.is(given) { Ok(rest) } else { Err(Refusal::NotFound) }
}

/// The one value of a header; `None` where it is absent.
fn one(headers: &HeaderMap, name: header::HeaderName) -> Result<Option<&str>, Refusal> {
    let mut values = headers.get_all(name).iter();
    match (values.next(), values.next()) {
        (None, _) => Ok(None),
        (Some(value), None) => value.to_str().map(Some).map_err(|_| Refusal::Foreign),
        (Some(_), Some(_)) => Err(Refusal::Foreign),
    }
}

fn own_hosts(port: u16) -> [String; 2] {
    ["127.0.0.1", "localhost"].map(|host| format!("{host}:{port}"))
}

/// Refuses names that a foreign page may have pointed at this machine.
pub(super) fn host(headers: &HeaderMap, port: u16) -> Result<(), Refusal> {
    let host = one(headers, header::HOST)?.unwrap_or_default();
    if own_hosts(port).iter().any(|own| own == host) { Ok(()) } else { Err(Refusal::Foreign) }
}

/// Refuses forms of foreign pages. Browsers send `null` in the place of the origin with a plain form of a page that sends
/// no referrer (Fetch standard, "append a request Origin header"); then they must say that the page was ours.
pub(super) fn origin(headers: &HeaderMap, port: u16) -> Result<(), Refusal> {
    let site = one(headers, header::HeaderName::from_static("sec-fetch-site"))?;
    let is_own = match one(headers, header::ORIGIN)? {
        None | Some("null") => site == Some("same-origin"),
        Some(origin) => {
            own_hosts(port).iter().any(|own| origin == format!("http://{own}"))
                && site.is_none_or(|s| s == "same-origin")
        }
    };
    if is_own { Ok(()) } else { Err(Refusal::Foreign) }
}

/// The form sent, if it is one and not too large.
pub(super) async fn form_text(headers: &HeaderMap, body: Body) -> Result<String, Refusal> {
    let length = one(headers, header::CONTENT_LENGTH)?.and_then(|length| length.parse::<usize>().ok());
    if length.is_some_and(|length| length > MOST_BYTES) {
        return Err(Refusal::TooLarge);
    }
    let kind = one(headers, header::CONTENT_TYPE)?.unwrap_or_default();
    if kind.split(';').next().map(str::trim) != Some("application/x-www-form-urlencoded") {
        return Err(Refusal::NotTheForm);
    }
    let bytes = axum::body::to_bytes(body, MOST_BYTES).await.map_err(|_| Refusal::TooLarge)?;
    String::from_utf8(bytes.into()).map_err(|_| Refusal::NotTheForm)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn headers(pairs: &[(&'static str, &str)]) -> HeaderMap {
        let mut headers = HeaderMap::new();
        for (name, value) in pairs {
            headers.append(*name, value.parse().unwrap());
        }
        headers
    }

    #[test]
    fn tokens_are_drawn_anew_and_compared_whole() {
        let (token, other) = (Token::draw().unwrap(), Token::draw().unwrap());
        assert_ne!(token.text(), other.text());
        assert_eq!(token.text().len(), 2 * TOKEN_BYTES);
        let address = format!("/{}/decide.css", token.text());
        assert_eq!(below_token(&address, &token), Ok("decide.css"));
        let short = &token.text()[..31];
        for path in [
            "/",
            "",
            "/decide.css",
            &format!("/{short}/"),
            &format!("/{}0/", token.text()),
            &format!("/{}", token.text()),
        ] {
            assert_eq!(below_token(path, &token), Err(Refusal::NotFound), "{path}");
        }
        assert_eq!(below_token(&address, &other), Err(Refusal::NotFound));
    }

    #[test]
    fn only_this_machine_s_names_and_this_page_s_forms_pass() {
        assert_eq!(host(&headers(&[("host", "localhost:7")]), 7), Ok(()));
        for wrong in ["127.0.0.1", "127.0.0.1:8", "evil.example:7", "127.0.0.1:7.evil.example", ""] {
            assert_eq!(host(&headers(&[("host", wrong)]), 7), Err(Refusal::Foreign), "{wrong}");
        }
        assert_eq!(host(&headers(&[("host", "localhost:7"), ("host", "evil.example")]), 7), Err(Refusal::Foreign));
        let passes = |pairs: &[(&'static str, &str)]| origin(&headers(pairs), 7).is_ok();
        assert!(passes(&[("origin", "http://127.0.0.1:7")]));
        assert!(passes(&[("sec-fetch-site", "same-origin")]));
        assert!(passes(&[("origin", "null"), ("sec-fetch-site", "same-origin")]));
        assert!(!passes(&[]));
        assert!(!passes(&[("origin", "null")]));
        assert!(!passes(&[("origin", "null"), ("sec-fetch-site", "cross-site")]));
        assert!(!passes(&[("origin", "http://127.0.0.1:8")]));
        assert!(!passes(&[("origin", "https://127.0.0.1:7")]));
        assert!(!passes(&[("origin", "http://127.0.0.1:7"), ("sec-fetch-site", "same-site")]));
    }
}
