/** All waiting entries in one file of JSON lines, for when the phone is dying. */

import { el } from "../words";
import { fieldsOf, list, type Field } from "./store";

export const FORMAT = "guidecoat unsent entries";

export async function saveToFile(): Promise<void> {
  const heads = await list();
  const saved = new Date().toISOString();
  const parts: Blob[] = [line({ format: FORMAT, version: 1, saved, entries: heads.length })];
  for (const { order, entry, action, label, made, refused } of heads) {
    const fields = (await fieldsOf(order)) ?? [];
    const path = new URL(action).pathname;
    parts.push(line({ entry, action: path, label, made, refused, fields: await Promise.all(fields.map(plain)) }));
  }
  const address = URL.createObjectURL(new Blob(parts, { type: "application/x-ndjson" }));
  const link = el("a", { href: address, download: `guidecoat-unsent-${saved.slice(0, 16).replace(/[:T]/g, "-")}.jsonl` });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}

function line(value: unknown): Blob {
  return new Blob([JSON.stringify(value), "\n"]);
}

async function plain(field: Field): Promise<unknown> {
  if ("value" in field) return field;
  const { name, file, type } = field;
  return { name, file, type, base64: await base64(field.bytes) };
}

function base64(bytes: ArrayBuffer): Promise<string> {
  return new Promise((resolve, reject) => {
    const reader = new FileReader();
    reader.onload = () => resolve(String(reader.result).replace(/^[^,]*,/, ""));
    reader.onerror = () => reject(reader.error);
    reader.readAsDataURL(new Blob([bytes]));
  });
}
