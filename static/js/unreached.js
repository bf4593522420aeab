// @ts-check
/** Shows the way to the offline page of a case when the bench PC does not answer to a tap. */
import { link } from "./copies.js";
import { says } from "./says.js";

export function announceOffline() {
  for (const name of ["htmx:sendError", "htmx:timeout"]) {
    document.addEventListener(name, () => {
      const code = document.body.dataset.case;
      const said = document.getElementById("said");
      if (code && said) said.append(" ", link(`/case/${code}/offline`, says("copy.record")));
    });
  }
}
