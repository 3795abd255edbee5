/** The browser's own file dialog, for hosts that have none. Resolves to nothing when it is cancelled. */
export function pickInPage(multiple: boolean): Promise<readonly File[]> {
  return new Promise((resolve) => {
    const input = document.createElement("input");
    input.type = "file";
    input.multiple = multiple;
    input.onchange = () => resolve([...(input.files ?? [])]);
    input.oncancel = () => resolve([]);
    input.click();
  });
}
