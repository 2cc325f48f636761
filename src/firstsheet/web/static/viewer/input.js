// Pointers, wheel and keys on the table, turned into a few plain wishes:
// pan(dx, dy), zoom(factor, x, y), grab(handle, x, y) -> {move, end}, tap(x, y), key(name, event).

const TAP_PX = 4;

export function listenTo(host, world, wishes) {
  const held = new Map();
  let drag = null;
  let moved = 0;

  const local = (event) => {
    const box = world.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  };

  host.addEventListener("wheel", (event) => {
    // The page scrolls as pages do, until the table is taken in hand.
    const near = event.ctrlKey || event.metaKey || host.contains(document.activeElement);
    if (!near) return;
    event.preventDefault();
    const lines = event.deltaMode === 1 ? 16 : 1;
    wishes.zoom(Math.exp((-event.deltaY * lines) / (event.ctrlKey ? 160 : 400)), ...local(event));
  }, { passive: false });

  host.addEventListener("pointerdown", (event) => {
    if (event.button !== 0 || event.target.closest("[data-still]")) return;
    const at = local(event);
    host.setPointerCapture(event.pointerId);
    held.set(event.pointerId, at);
    moved = held.size > 1 ? Infinity : 0;
    if (held.size === 1) {
      const handle = event.target.closest("[data-handle]")?.dataset.handle ?? "";
      drag = wishes.grab(handle, ...at, event);
      (handle ? event.target.closest("[data-handle]") : host).focus({ preventScroll: true });
    } else if (drag) {
      drag.end(true);
      drag = null;
    }
    event.preventDefault();
  });

  host.addEventListener("pointermove", (event) => {
    const before = held.get(event.pointerId);
    const at = local(event);
    if (!before) { wishes.hover?.(...at); return; }
    if (held.size === 1) {
      moved += Math.hypot(at[0] - before[0], at[1] - before[1]);
      if (moved > TAP_PX) {
        if (drag) drag.move(at[0], at[1], event);
        else wishes.pan(at[0] - before[0], at[1] - before[1]);
      } else return;
    } else if (held.size === 2) {
      const other = [...held].find(([id]) => id !== event.pointerId)[1];
      const was = Math.hypot(before[0] - other[0], before[1] - other[1]);
      const is = Math.hypot(at[0] - other[0], at[1] - other[1]);
      wishes.pan((at[0] - before[0]) / 2, (at[1] - before[1]) / 2);
      if (was > 1) wishes.zoom(is / was, (at[0] + other[0]) / 2, (at[1] + other[1]) / 2);
    }
    held.set(event.pointerId, at);
  });

  const done = (event) => {
    if (!held.delete(event.pointerId)) return;
    const gaveUp = event.type === "pointercancel";
    if (moved <= TAP_PX && !gaveUp) {
      drag?.end(true);
      wishes.tap(...local(event), event);
    } else drag?.end(gaveUp);
    drag = null;
  };
  host.addEventListener("pointerup", done);
  host.addEventListener("pointercancel", done);

  host.addEventListener("keydown", (event) => {
    if (event.target !== host && !event.target.dataset?.handle) return;
    if (event.ctrlKey || event.metaKey) return;
    const handle = event.target.dataset?.handle ?? "";
    if (wishes.key(event.key, handle, event)) {
      event.preventDefault();
      event.stopPropagation();
    }
  });
}
