// The scripts of the page stand in it packed, as the library does: here they are unpacked and begin. The page's policy knows them by their hash.

const made = document.createElement("script");
made.textContent = new TextDecoder().decode(unpacked(document.getElementById("script").textContent));
document.body.append(made);
