// Contrast ratios of all visible text against the ground it stands on, below 4.5 to 1 (WCAG 2.2, 1.4.3 and its
// definition of relative luminance). Returns the texts that are too faint.
() => {
  const channel = (v) => (v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
  const luminance = ([r, g, b]) => 0.2126 * channel(r) + 0.7152 * channel(g) + 0.0722 * channel(b);
  const parse = (text) => (text.match(/[\d.]+/g) || []).map(Number);
  const ground = (node) => {
    for (let at = node; at; at = at.parentElement) {
      const [r, g, b, a = 1] = parse(getComputedStyle(at).backgroundColor);
      if (a > 0) return [r, g, b];
    }
    return [255, 255, 255];
  };
  const faint = [];
  for (const node of document.querySelectorAll('body *')) {
    const own = [...node.childNodes].some((child) => child.nodeType === 3 && child.textContent.trim());
    if (!own || !node.getClientRects().length || ['STYLE', 'title', 'desc'].includes(node.tagName)) continue;
    const style = getComputedStyle(node);
    const ink = parse(node instanceof SVGElement ? style.fill : style.color);
    const [a, b] = [luminance(ink), luminance(ground(node))].sort((x, y) => y - x);
    const ratio = (a + 0.05) / (b + 0.05);
    if (ratio < 4.5) faint.push(`${ratio.toFixed(2)} ${node.textContent.trim().slice(0, 40)}`);
  }
  return faint;
}
