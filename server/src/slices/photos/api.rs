use actix_web::{
    FromRequest, HttpRequest, HttpResponse, HttpResponseBuilder, ResponseError as _,
    body::SizedStream,
    dev::Payload,
    http::{Method, header},
    web,
};
use utoipa::openapi::{ObjectBuilder, path::ParameterIn, schema::Type};

use super::{
    PhotoName, Photos,
    ops::{self, MOST_BYTES, Part, UploadResult},
};
use crate::platform::{
    error::{self, Fault},
    http::{Api, Argument, Caller, Doc, RawBody},
    line::LinePlace,
};

/// How many bytes of the photo are here.
const OFFSET: &str = "Upload-Offset";
const NAME: &str = "The SHA-256 of the photo's bytes as they are sent, 64 hexadecimal digits in lower case";

/// The photos' addresses.
pub fn routes(api: &mut Api) {
    let doc = |id: &str, summary: &str, about: &str| Doc::new("photos", id, summary, about);
    let offset = "How many bytes of the photo are here";
    api.large(
        Method::PUT,
        "/v1/photos/{sha256}",
        MOST_BYTES,
        doc(
            "put_photo",
            "Send a photo, whole or in parts; sent again, it changes nothing",
            "The bytes are named by their SHA-256, so sending them again is safe. A photo may come in parts with `Content-Range`: go \
             on from `Upload-Offset`. It is turned upright and stripped of everything but its pixels.",
        )
        .takes_raw("image/*", "The bytes: JPEG, PNG or WebP, 12 MB and 50 megapixels at most")
        .answers_raw("200", "", "It was here before; Upload-Offset is its length")
        .answers_raw("201", "", "It is whole and stored; Upload-Offset is its length")
        .answers_raw("202", "", "The part is kept; go on from Upload-Offset")
        .refuses("400", "Content-Range cannot be read, or the body is of another length")
        .refuses("403", "The member's role does not allow it")
        .refuses(
            "409",
            "The part does not begin at Upload-Offset, which is how many bytes are here; go on from there",
        )
        .refuses("413", "The photo is too large")
        .refuses(
            "422",
            "The bytes do not have this SHA-256, or are no picture that can be read; what came before is forgotten",
        )
        .refuses("503", "Try again in a moment")
        .refuses("507", "The agency's room for photos is used up")
        .tells(&["200", "201", "202", "409"], OFFSET, Type::Integer, offset),
        put,
    );
    api.other(
        Method::HEAD,
        "/v1/photos/{sha256}",
        doc(
            "check_photo",
            "How much of a photo is here",
            "Asks before sending, or after a break: `Upload-Offset` says how many bytes are here.",
        )
        .answers_raw("200", "", "All of it; Upload-Offset is its length")
        .refuses("404", "Not all of it; Upload-Offset is how many bytes of its parts are here")
        .refuses("503", "Try again in a moment")
        .tells(&["200", "404"], OFFSET, Type::Integer, offset),
        check,
    );
    api.other(
        Method::GET,
        "/v1/photos/{sha256}",
        doc(
            "show_photo",
            "A photo, upright, with nothing in it but its pixels",
            "The bytes of a name never change. They are those of the stripped picture, not those that were hashed.",
        )
        .answers_raw("200", "image/*", "The picture, JPEG or PNG")
        .refuses("404", "The photo is not here yet, or was never sent")
        .refuses("503", "Try again in a moment"),
        show,
    );
    api.other(
        Method::GET,
        "/v1/photos/{sha256}/thumbnail",
        doc(
            "show_photo_thumbnail",
            "A photo, 320 pixels on its longest side at most",
            "A JPEG for lists, made from the stripped picture.",
        )
        .answers_raw("200", "image/jpeg", "The picture")
        .refuses("404", "The photo is not here yet, or was never sent")
        .refuses("503", "Try again in a moment"),
        show_thumbnail,
    );
}

/// The photo that the path names.
impl FromRequest for PhotoName {
    type Error = Fault;
    type Future = std::future::Ready<Result<Self, Fault>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let name = request.match_info().get("sha256").unwrap_or_default().to_owned();
        std::future::ready(Self::try_from(name).map_err(|words| Fault::new(error::NOT_FOUND, words)))
    }
}

impl Argument for PhotoName {
    fn describe(doc: &mut Doc) {
        let schema = ObjectBuilder::new().schema_type(Type::String).pattern(Some("^[0-9a-f]{64}$")).build();
        doc.parameter(ParameterIn::Path, "sha256", NAME, schema);
        doc.may_refuse("404", "The address names no photo");
    }
}

/// The part of a photo that a body is; none: it is whole.
struct ContentRange(Option<Part>);

impl FromRequest for ContentRange {
    type Error = Fault;
    type Future = std::future::Ready<Result<Self, Fault>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let named = request.headers().get(header::CONTENT_RANGE).map(|value| {
            let part = value.to_str().ok().and_then(part);
            part.ok_or_else(|| unusable("Content-Range is 'bytes FIRST-LAST/TOTAL', counted from 0, the last byte included"))
        });
        std::future::ready(named.transpose().map(Self))
    }
}

impl Argument for ContentRange {
    fn describe(doc: &mut Doc) {
        let words = "`bytes FIRST-LAST/TOTAL` of a part (RFC 9110, section 14.4); left out, the body is the whole photo";
        let schema = ObjectBuilder::new()
            .schema_type(Type::String)
            .pattern(Some("^bytes [0-9]+-[0-9]+/[0-9]+$"))
            .build();
        doc.parameter(ParameterIn::Header, "Content-Range", words, schema);
        doc.may_refuse("400", "Content-Range cannot be read, or the body is of another length");
    }
}

fn unusable(words: &str) -> Fault {
    Fault::new(error::BODY_UNREADABLE, words).at("Content-Range")
}

/// Reads `bytes FIRST-LAST/TOTAL`. RFC 9110 section 14.4: invalid if LAST is before FIRST, or TOTAL not after LAST.
fn part(text: &str) -> Option<Part> {
    let (unit, range) = text.trim().split_once(' ')?;
    let (positions, total) = range.trim().split_once('/')?;
    let (first, last) = positions.split_once('-')?;
    let number = |text: &str| text.bytes().all(|digit| digit.is_ascii_digit()).then(|| text.parse().ok())?;
    let part = Part {
        first: number(first)?,
        last: number(last)?,
        total: number(total)?,
    };
    (unit.eq_ignore_ascii_case("bytes") && part.first <= part.last && part.last < part.total).then_some(part)
}

/// An answer with how many bytes are here. That changes, so nobody keeps it.
fn at_offset(mut answer: HttpResponseBuilder, offset: i64) -> HttpResponse {
    answer
        .insert_header((OFFSET, offset.to_string()))
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .finish()
}

fn refused_at_offset(fault: &Fault, offset: i64) -> HttpResponse {
    let mut answer = fault.error_response();
    answer
        .headers_mut()
        .insert(header::HeaderName::from_static("upload-offset"), header::HeaderValue::from(offset));
    answer.headers_mut().insert(header::CACHE_CONTROL, header::HeaderValue::from_static("no-store"));
    answer
}

/// The bytes of a photo, with the place that they take up until it is kept.
struct Upload {
    bytes: web::Bytes,
    place: LinePlace,
}

impl FromRequest for Upload {
    type Error = Fault;
    type Future = std::pin::Pin<Box<dyn Future<Output = Result<Self, Fault>>>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let caller = Caller::from_request(request, payload).into_inner();
        let place = caller.and_then(|Caller(actor)| {
            let photos = request.app_data::<web::Data<Photos>>();
            let photos = photos.ok_or_else(|| anyhow::anyhow!("the service was wired without its photos"))?;
            photos.place(&actor)
        });
        // Nothing of them is read before there is a place.
        let bytes = place.is_ok().then(|| RawBody::from_request(request, payload));
        Box::pin(async move {
            let (place, Some(bytes)) = (place?, bytes) else {
                return Err(anyhow::anyhow!("a place without its bytes").into());
            };
            let too_large = |_| Fault::new(error::PHOTO_TOO_LARGE, "A photo holds 12 MB at most; send it smaller");
            let RawBody(bytes) = bytes.await.map_err(too_large)?;
            Ok(Self { bytes, place })
        })
    }
}

impl Argument for Upload {
    fn describe(doc: &mut Doc) {
        RawBody::describe(doc);
        doc.may_refuse("429", "This sign-in sends two photos already");
    }
}

async fn put(
    caller: Caller,
    photos: web::Data<Photos>,
    name: PhotoName,
    ContentRange(part): ContentRange,
    Upload { bytes, place: _place }: Upload,
) -> Result<HttpResponse, Fault> {
    if part.is_some_and(|part| part.last - part.first + 1 != bytes.len()) {
        return Err(unusable("The body does not hold as many bytes as Content-Range says"));
    }
    Ok(match photos.put(&caller.0, name, part, bytes.into()).await? {
        UploadResult::Stored(offset) => at_offset(HttpResponse::Created(), offset),
        UploadResult::There(offset) => at_offset(HttpResponse::Ok(), offset),
        UploadResult::Partly(offset) => at_offset(HttpResponse::Accepted(), offset),
        UploadResult::Elsewhere(offset) => refused_at_offset(
            &Fault::new(
                error::UPLOAD_OFFSET,
                format!("{offset} bytes of this photo are here; send the part that begins at byte {offset}"),
            ),
            offset,
        ),
    })
}

async fn check(caller: Caller, photos: web::Data<Photos>, name: PhotoName) -> Result<HttpResponse, Fault> {
    Ok(match photos.standing(caller.0.agency, name).await? {
        Ok(length) => at_offset(HttpResponse::Ok(), length),
        Err(offset) => refused_at_offset(&ops::awaited(), offset),
    })
}

async fn show(caller: Caller, photos: web::Data<Photos>, name: PhotoName) -> Result<HttpResponse, Fault> {
    shown(&caller, &photos, name, false).await
}

async fn show_thumbnail(caller: Caller, photos: web::Data<Photos>, name: PhotoName) -> Result<HttpResponse, Fault> {
    shown(&caller, &photos, name, true).await
}

/// The bytes of a name never change. They came from outside: a browser takes them for a picture and for nothing else, as every answer says.
async fn shown(caller: &Caller, photos: &Photos, name: PhotoName, thumbnail: bool) -> Result<HttpResponse, Fault> {
    let (media, found) = photos.open_photo(caller.0.agency, name, thumbnail).await?;
    Ok(HttpResponse::Ok()
        .content_type(media)
        .insert_header((header::CACHE_CONTROL, "private, max-age=31536000, immutable"))
        .body(SizedStream::new(found.meta.size, found.into_stream())))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Examples from RFC 9110, section 14.4.
    #[test]
    fn a_content_range_is_read_as_the_rfc_says() {
        let read = |text: &str| part(text).map(|part| (part.first, part.last, part.total));
        assert_eq!(read("bytes 42-1233/1234"), Some((42, 1233, 1234)));
        assert_eq!(read("bytes 0-499/1234"), Some((0, 499, 1234)));
        assert_eq!(read("Bytes 734-1233/1234"), Some((734, 1233, 1234)));
        for bad in [
            "",
            "bytes",
            "bytes 42-1233/*",
            "bytes */1234",
            "bytes 500-499/1234",
            "bytes 0-1234/1234",
            "bytes -1-5/10",
            "bytes +0-5/10",
            "items 0-4/5",
            "bytes 0-99999999999999999999/99999999999999999999999",
            "bytes 0-4",
        ] {
            assert_eq!(read(bad), None, "{bad}");
        }
    }
}
