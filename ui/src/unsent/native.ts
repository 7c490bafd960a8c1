/** Opens a waiting entry as a plain form post, so that the server draws the page that puts it right. */

import { el } from "../words";
import { fieldsOf, type Waiting } from "./store";

export async function openAsForm(head: Waiting): Promise<void> {
  const fields = await fieldsOf(head.order);
  if (!fields) return;
  const form = el("form", { method: "post", enctype: "multipart/form-data", action: head.action, hidden: "" });
  for (const field of fields) {
    if ("value" in field) {
      const area = el("textarea", { name: field.name });
      area.value = field.value;
      form.append(area);
    } else {
      const held = new DataTransfer();
      held.items.add(new File([field.bytes], field.file, { type: field.type }));
      const input = el("input", { type: "file", name: field.name });
      input.files = held.files;
      form.append(input);
    }
  }
  document.body.append(form);
  HTMLFormElement.prototype.submit.call(form);
}
