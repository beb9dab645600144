//! The library in a browser. The page takes room for a question, writes it there, asks, reads the reply and drops it.
//!
//! A question and a reply are UTF-8 JSON. A reply begins with its length in four bytes, the lowest first.

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

/// Answers the question that stands in `bytes` bytes at `question`; [`drop_reply`] takes the reply back.
///
/// # Safety
/// `question` came from [`room`] with this number of bytes and was not answered before.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn answer(question: *mut u8, bytes: usize) -> *mut u8 {
    // SAFETY: the caller gives back what `room` gave, once and with its length.
    let question = unsafe { Box::from_raw(std::ptr::slice_from_raw_parts_mut(question, bytes)) };
    let reply = batchwright::page::reply_telling(&question, &|words| {
        // SAFETY: the page reads these bytes and keeps no place of them.
        unsafe { told(words.as_ptr(), words.len()) }
    });
    let length = u32::try_from(reply.len()).unwrap_or(0);
    let mut whole = Vec::with_capacity(4 + reply.len());
    whole.extend_from_slice(&length.to_le_bytes());
    whole.extend_from_slice(reply.as_bytes());
    Box::into_raw(whole.into_boxed_slice()).cast()
}

/// Drops a reply.
///
/// # Safety
/// `reply` came from [`answer`] and was not dropped before.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn drop_reply(reply: *mut u8) {
    // SAFETY: `answer` wrote the length of what follows into the first four bytes of what it gave.
    unsafe {
        let length = u32::from_le_bytes([*reply, *reply.add(1), *reply.add(2), *reply.add(3)]) as usize;
        drop(Box::from_raw(std::ptr::slice_from_raw_parts_mut(reply, 4 + length)));
    }
}
