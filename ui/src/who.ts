/** Remembers who is writing on this device, until someone picks another. */

const KEY = "guidecoat.who";
/** In forms that write; the record's filter also has a field of that name. */
const FIELDS = "form[method=post] :is(input[type=radio], select)[name=who]";

export function rememberWho(): void {
  document.addEventListener("change", (event) => {
    const field = event.target;
    if (!(field instanceof HTMLInputElement || field instanceof HTMLSelectElement) || !field.matches(FIELDS)) return;
    try {
      localStorage.setItem(KEY, field.value);
    } catch {
      // Without storage the server's cookie still remembers.
    }
    pick();
  });
  document.addEventListener("reset", () => setTimeout(pick));
  addEventListener("pageshow", pick);
  pick();
}

/** Preselects the remembered person in every form that offers them. */
function pick(): void {
  let who: string | null = null;
  try {
    who = localStorage.getItem(KEY);
  } catch {
    return;
  }
  if (!who) return;
  for (const field of document.querySelectorAll<HTMLInputElement | HTMLSelectElement>(FIELDS)) {
    if (field instanceof HTMLInputElement) field.checked = field.value === who || (field.checked && !offered(field, who));
    else if ([...field.options].some((option) => option.value === who)) field.value = who;
  }
}

/** Whether the group this radio stands in offers that person. */
function offered(field: HTMLInputElement, who: string): boolean {
  const scope: ParentNode = field.form ?? document;
  return [...scope.querySelectorAll<HTMLInputElement>("input[type=radio][name=who]")].some((one) => one.value === who);
}
