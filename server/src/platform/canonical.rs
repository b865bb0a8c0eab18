//! One way to write a JSON value, so that its hash does not hang on how it was sent or on how a map keeps its fields.
//!
//! The rule is RFC 8785 (JSON Canonicalization Scheme): no blanks; the fields of an object in the order of their names by UTF-16
//! code units; text with `\b \t \n \f \r \" \\`, other control characters as `\u00xx`, and everything else as it is; numbers as
//! ECMAScript writes them. It differs in one point: a whole number between -2^63 and 2^64 - 1 that was written without a point or an
//! exponent keeps all its digits, where the RFC rounds it to 53 bits. A number is the one that serde_json reads, which for one of
//! more than 15 digits may be the neighbour of the nearest.

use std::fmt::Write as _;

use serde_json::{Number, Value};

/// A value by the rule above.
#[must_use]
pub fn canonical(value: &Value) -> String {
    let mut out = String::new();
    write(&mut out, value);
    out
}

fn write(out: &mut String, value: &Value) {
    match value {
        Value::Null => out.push_str("null"),
        Value::Bool(is) => out.push_str(if *is { "true" } else { "false" }),
        Value::Number(number) => write_number(out, number),
        Value::String(text) => write_text(out, text),
        Value::Array(items) => {
            out.push('[');
            for (n, item) in items.iter().enumerate() {
                if n > 0 {
                    out.push(',');
                }
                write(out, item);
            }
            out.push(']');
        }
        Value::Object(fields) => {
            let mut fields: Vec<_> = fields.iter().collect();
            fields.sort_by(|(a, _), (b, _)| a.encode_utf16().cmp(b.encode_utf16()));
            out.push('{');
            for (n, (name, value)) in fields.into_iter().enumerate() {
                if n > 0 {
                    out.push(',');
                }
                write_text(out, name);
                out.push(':');
                write(out, value);
            }
            out.push('}');
        }
    }
}

fn write_text(out: &mut String, text: &str) {
    out.push('"');
    for sign in text.chars() {
        match sign {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\u{8}' => out.push_str("\\b"),
            '\t' => out.push_str("\\t"),
            '\n' => out.push_str("\\n"),
            '\u{c}' => out.push_str("\\f"),
            '\r' => out.push_str("\\r"),
            control if control < ' ' => {
                // Writing to a String does not fail.
                let _ = write!(out, "\\u{:04x}", u32::from(control));
            }
            plain => out.push(plain),
        }
    }
    out.push('"');
}

fn write_number(out: &mut String, number: &Number) {
    match number.as_f64() {
        Some(float) if number.is_f64() => write_float(out, float),
        _ => out.push_str(&number.to_string()),
    }
}

/// As ECMA-262, Number::toString, writes a number: the fewest digits that read back the same, plain from 1e-6 up to below 1e21.
fn write_float(out: &mut String, float: f64) {
    if float == 0.0 {
        return out.push('0');
    }
    // The same fewest digits as serde_json writes, laid out otherwise.
    let shortest = Number::from_f64(float.abs()).map(|number| number.to_string()).unwrap_or_default();
    let (mantissa, exponent) = shortest.split_once('e').unwrap_or((&shortest, "0"));
    let (whole, rest) = mantissa.split_once('.').unwrap_or((mantissa, ""));
    let all = format!("{whole}{rest}");
    let leading = all.len() - all.trim_start_matches('0').len();
    let digits = all.trim_matches('0');
    // The value is 0.DIGITS times ten to the power of `point`.
    let point = exponent.parse::<i32>().unwrap_or_default() + i32::try_from(whole.len()).unwrap_or_default() - i32::try_from(leading).unwrap_or_default();
    let count = i32::try_from(digits.len()).unwrap_or(i32::MAX);
    let zeros = |many: i32| "0".repeat(usize::try_from(many).unwrap_or_default());
    if float < 0.0 {
        out.push('-');
    }
    if (1..=21).contains(&point) {
        match usize::try_from(point).ok().and_then(|at| digits.split_at_checked(at)) {
            Some((whole, rest)) if count > point => out.extend([whole, ".", rest]),
            _ => out.extend([digits, &zeros(point - count)]),
        }
    } else if (-5..=0).contains(&point) {
        out.extend(["0.", &zeros(-point), digits]);
    } else {
        let (first, rest) = digits.split_at_checked(1).unwrap_or((digits, ""));
        let (dot, sign) = (if rest.is_empty() { "" } else { "." }, if point > 0 { "+" } else { "" });
        let _ = write!(out, "{first}{dot}{rest}e{sign}{}", point - 1);
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn of(text: &str) -> String {
        canonical(&serde_json::from_str(text).unwrap())
    }

    /// RFC 8785, sections 3.2.2 to 3.2.4.
    #[test]
    fn the_examples_of_the_rfc_come_out_as_it_says() {
        let sent = r#"{ "numbers": [333333333.3333333, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
            "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/", "literals": [null, true, false] }"#;
        let told = r#"{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],"string":"€$\u000f\nA'B\"\\\\\"/"}"#;
        assert_eq!(of(sent), told);
        let names = r#"{"\u20ac":1,"\r":2,"\ufb33":3,"1":4,"\ud83d\ude00":5,"\u0080":6,"\u00f6":7}"#;
        assert_eq!(of(names), "{\"\\r\":2,\"1\":4,\"\u{80}\":6,\"ö\":7,\"€\":1,\"😀\":5,\"\u{fb33}\":3}");
    }

    /// RFC 8785, appendix B.
    #[test]
    fn numbers_are_written_as_the_rfc_lists_them() {
        for (bits, told) in [
            (0x0000_0000_0000_0000_u64, "0"),
            (0x8000_0000_0000_0000, "0"),
            (0x0000_0000_0000_0001, "5e-324"),
            (0x8000_0000_0000_0001, "-5e-324"),
            (0x7fef_ffff_ffff_ffff, "1.7976931348623157e+308"),
            (0x4340_0000_0000_0000, "9007199254740992"),
            (0xc340_0000_0000_0000, "-9007199254740992"),
            (0x4430_0000_0000_0000, "295147905179352830000"),
            (0x44b5_2d02_c7e1_4af5, "9.999999999999997e+22"),
            (0x44b5_2d02_c7e1_4af6, "1e+23"),
            (0x44b5_2d02_c7e1_4af7, "1.0000000000000001e+23"),
            (0x444b_1ae4_d6e2_ef4e, "999999999999999700000"),
            (0x444b_1ae4_d6e2_ef4f, "999999999999999900000"),
            (0x444b_1ae4_d6e2_ef50, "1e+21"),
            (0x3eb0_c6f7_a0b5_ed8c, "9.999999999999997e-7"),
            (0x3eb0_c6f7_a0b5_ed8d, "0.000001"),
            (0x41b3_de43_5555_5553, "333333333.3333332"),
            (0x41b3_de43_5555_5554, "333333333.33333325"),
            (0x41b3_de43_5555_5555, "333333333.3333333"),
            (0x41b3_de43_5555_5556, "333333333.3333334"),
            (0x41b3_de43_5555_5557, "333333333.33333343"),
            (0xbecb_f647_612f_3696, "-0.0000033333333333333333"),
            (0x4314_3ff3_c1cb_0959, "1424953923781206.2"),
        ] {
            assert_eq!(canonical(&json!(f64::from_bits(bits))), told);
        }
        assert_eq!(
            of("[18446744073709551615, -9223372036854775808, 9007199254740993, 1.0, -0.0]"),
            "[18446744073709551615,-9223372036854775808,9007199254740993,1,0]"
        );
    }
}
