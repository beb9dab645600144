// What a person does at the page.

export const press = (page, name) => page.getByRole("button", { name, exact: true }).click();
export const room = (page, name) => page.getByRole("navigation").getByRole("button", { name }).click();
export const said = (page) => page.locator(".opening").first();
/** Nothing is on its way any more: no change, no answer. */
export const settled = (page) => page.locator("body:not([data-busy])").waitFor();
export const whole = async (page) => {
  await settled(page);
  // Where all batches take long, fewer of them come first, and say so.
  await page.locator(".made", { hasText: /simulated batches\.$/ }).waitFor();
};
export const ask = (page, question) => page.getByLabel("I want to know").selectOption({ label: question });
export const text = async (page) => {
  await settled(page);
  await room(page, "File");
  return page.locator("#text").inputValue();
};

/** Opens a text as a file that is dropped on the page. */
export async function drop(page, name, content) {
  await page.evaluate(
    ([name, content]) => {
      const data = new DataTransfer();
      data.items.add(new File([content], name));
      document.body.dispatchEvent(new DragEvent("drop", { dataTransfer: data, bubbles: true, cancelable: true }));
    },
    [name, content],
  );
}

/** What has the focus, as it is called. */
export const focus = (page) => page.evaluate(() => document.activeElement.getAttribute("aria-label") ?? document.activeElement.labels?.[0]?.textContent ?? document.activeElement.textContent);
