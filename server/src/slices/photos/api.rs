use actix_web::{
    HttpRequest, HttpResponse, HttpResponseBuilder, ResponseError as _,
    body::SizedStream,
    http::{Method, header},
    web,
};
use utoipa::openapi::path::ParameterIn;

use super::{
    PhotoName, Photos,
    ops::{self, MOST_BYTES, Part, Sent},
};
use crate::platform::{
    error::{self, Fault},
    http::{Access, Api, Caller, Doc, RawBody},
};

/// How many bytes of the photo are here.
const OFFSET: &str = "Upload-Offset";
const NAME: &str = "The SHA-256 of the photo's bytes as they are sent, 64 hexadecimal digits in lower case";

/// The photos' addresses.
pub fn routes(api: &mut Api) {
    let doc = |id: &str, summary: &str| Doc::new("photos", id, summary, Access::Member).parameter(ParameterIn::Path, "sha256", true, NAME);
    api.large(
        Method::PUT,
        "/v1/photos/{sha256}",
        MOST_BYTES,
        doc("put_photo", "Send a photo, whole or in parts; sent again, it changes nothing")
            .parameter(
                ParameterIn::Header,
                "Content-Range",
                false,
                "`bytes FIRST-LAST/TOTAL` of a part (RFC 9110, section 14.4); left out, the body is the whole photo",
            )
            .takes_raw("image/*", "The bytes: JPEG, PNG or WebP, 12 MB and 50 megapixels at most")
            .answers_raw("200", "", "It was here before; Upload-Offset is its length")
            .answers_raw("201", "", "It is whole and stored; Upload-Offset is its length")
            .answers_raw("202", "", "The part is kept; go on from Upload-Offset")
            .refuses("400", "Content-Range cannot be read, or the body is of another length")
            .refuses("403", "The member's role does not allow it")
            .refuses("404", "The address names no photo")
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
            .refuses("507", "The agency's room for photos is used up"),
        put,
    );
    api.other(
        Method::HEAD,
        "/v1/photos/{sha256}",
        doc("check_photo", "How much of a photo is here")
            .answers_raw("200", "", "All of it; Upload-Offset is its length")
            .refuses("404", "Not all of it; Upload-Offset is how many bytes of its parts are here")
            .refuses("503", "Try again in a moment"),
        check,
    );
    api.other(
        Method::GET,
        "/v1/photos/{sha256}",
        doc("show_photo", "A photo, upright, with nothing in it but its pixels")
            .answers_raw("200", "image/*", "The picture, JPEG or PNG")
            .refuses("404", "The photo is not here yet, or was never sent")
            .refuses("503", "Try again in a moment"),
        show,
    );
    api.other(
        Method::GET,
        "/v1/photos/{sha256}/thumbnail",
        doc("show_photo_thumbnail", "A photo, 320 pixels on its longest side at most")
            .answers_raw("200", "image/jpeg", "The picture")
            .refuses("404", "The photo is not here yet, or was never sent")
            .refuses("503", "Try again in a moment"),
        show_thumbnail,
    );
}

fn named(name: web::Path<String>) -> Result<PhotoName, Fault> {
    PhotoName::try_from(name.into_inner()).map_err(|words| Fault::new(error::NOT_FOUND, words))
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

fn part_of(request: &HttpRequest, length: usize) -> Result<Option<Part>, Fault> {
    let Some(value) = request.headers().get(header::CONTENT_RANGE) else {
        return Ok(None);
    };
    let refused = |words: &str| Fault::new(error::BODY_UNREADABLE, words).at("Content-Range");
    let part = value
        .to_str()
        .ok()
        .and_then(part)
        .ok_or_else(|| refused("Content-Range is 'bytes FIRST-LAST/TOTAL', counted from 0, the last byte included"))?;
    if part.last - part.first + 1 != length {
        return Err(refused("The body does not hold as many bytes as Content-Range says"));
    }
    Ok(Some(part))
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

async fn put(
    caller: Caller,
    photos: web::Data<Photos>,
    name: web::Path<String>,
    request: HttpRequest,
    body: Result<RawBody, Fault>,
) -> Result<HttpResponse, Fault> {
    let name = named(name)?;
    let RawBody(bytes) = body.map_err(|_| Fault::new(error::PHOTO_TOO_LARGE, "A photo holds 12 MB at most; send it smaller"))?;
    let part = part_of(&request, bytes.len())?;
    Ok(match photos.put(&caller.0, name, part, bytes.into()).await? {
        Sent::Stored(offset) => at_offset(HttpResponse::Created(), offset),
        Sent::There(offset) => at_offset(HttpResponse::Ok(), offset),
        Sent::Partly(offset) => at_offset(HttpResponse::Accepted(), offset),
        Sent::Elsewhere(offset) => refused_at_offset(
            &Fault::new(
                error::UPLOAD_OFFSET,
                format!("{offset} bytes of this photo are here; send the part that begins at byte {offset}"),
            ),
            offset,
        ),
    })
}

async fn check(caller: Caller, photos: web::Data<Photos>, name: web::Path<String>) -> Result<HttpResponse, Fault> {
    Ok(match photos.standing(caller.0.agency, named(name)?).await? {
        Ok(length) => at_offset(HttpResponse::Ok(), length),
        Err(offset) => refused_at_offset(&ops::awaited(), offset),
    })
}

async fn show(caller: Caller, photos: web::Data<Photos>, name: web::Path<String>) -> Result<HttpResponse, Fault> {
    shown(&caller, &photos, name, false).await
}

async fn show_thumbnail(caller: Caller, photos: web::Data<Photos>, name: web::Path<String>) -> Result<HttpResponse, Fault> {
    shown(&caller, &photos, name, true).await
}

/// The bytes of a name never change. They came from outside: a browser takes them for a picture and for nothing else.
async fn shown(caller: &Caller, photos: &Photos, name: web::Path<String>, thumbnail: bool) -> Result<HttpResponse, Fault> {
    let (media, found) = photos.open_photo(caller.0.agency, named(name)?, thumbnail).await?;
    Ok(HttpResponse::Ok()
        .content_type(media)
        .insert_header((header::CACHE_CONTROL, "private, max-age=31536000, immutable"))
        .insert_header((header::X_CONTENT_TYPE_OPTIONS, "nosniff"))
        .insert_header((header::CONTENT_SECURITY_POLICY, "default-src 'none'"))
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
