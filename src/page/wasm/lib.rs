//! The library in a browser. The page takes room for a question, writes it there, asks, reads the reply and drops it.
//!
//! A question is UTF-8 JSON, and after it parcels of other workers, where they go with it.

/// What is answered: UTF-8 JSON, and parcels for other workers, where there are any; where they are and how many bytes they have.
#[repr(C)]
pub struct Reply {
    json: *mut u8,
    json_bytes: usize,
    parcels: *mut u8,
    parcels_bytes: usize,
}

use batchwright::page::Parcels;

#[link(wasm_import_module = "page")]
unsafe extern "C" {
    /// Is told how far an answer is, as UTF-8 JSON, which is there until it returns.
    fn told(words: *const u8, bytes: usize);
}

/// Room for a question of so many bytes; [`answer`] takes it back.
#[unsafe(no_mangle)]
pub extern "C" fn room(bytes: usize) -> *mut u8 {
    Box::into_raw(vec![0_u8; bytes].into_boxed_slice()).cast()
}

/// Answers the question that stands in `bytes` bytes at `question`, of which the first `json` are its JSON, with the help of the reply to the
/// question before, where there is one; [`drop_reply`] takes the reply back.
///
/// # Safety
/// `question` came from [`room`] with this number of bytes and was not answered before; `before` is null, or came from this and was not dropped.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn answer(question: *mut u8, bytes: usize, json: usize, before: *const Reply) -> *mut Reply {
    // SAFETY: the caller gives back what `room` gave, once and with its length.
    let question = unsafe { Box::from_raw(std::ptr::slice_from_raw_parts_mut(question, bytes)) };
    let (question, others) = question.split_at(json.min(bytes));
    // SAFETY: where there is a reply it has its parcels still.
    let own = unsafe {
        before.as_ref().map_or(&[][..], |reply| {
            std::slice::from_raw_parts(reply.parcels, reply.parcels_bytes)
        })
    };
    let (json, parcels) = batchwright::page::reply_telling(question, Parcels { own, others }, &|words| {
        // SAFETY: the page reads these bytes and keeps no place of them.
        unsafe { told(words.as_ptr(), words.len()) }
    });
    Box::into_raw(Box::new(Reply {
        json_bytes: json.len(),
        json: Box::into_raw(json.into_bytes().into_boxed_slice()).cast(),
        parcels_bytes: parcels.len(),
        parcels: Box::into_raw(parcels.into_boxed_slice()).cast(),
    }))
}

/// Drops a reply.
///
/// # Safety
/// `reply` came from [`answer`] and was not dropped before.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn drop_reply(reply: *mut Reply) {
    // SAFETY: `answer` made it of these two boxes, with their lengths.
    unsafe {
        let reply = Box::from_raw(reply);
        drop(Box::from_raw(std::ptr::slice_from_raw_parts_mut(
            reply.json,
            reply.json_bytes,
        )));
        drop(Box::from_raw(std::ptr::slice_from_raw_parts_mut(
            reply.parcels,
            reply.parcels_bytes,
        )));
    }
}
