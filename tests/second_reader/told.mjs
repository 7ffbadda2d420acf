// What a page means as the plain data of the conformance corpus: its README says which members there are.

const full = (object) =>
  Object.fromEntries(
    Object.entries(object).filter(([, value]) => value !== undefined && value !== "" && value?.length !== 0),
  );

const quantity = ({ number, unit }) => (unit === "" ? `${number}` : `${number} ${unit}`);

function ingredient({ name, amounts, note, material }) {
  const said = { name, amount: `${amounts[0].number}`, unit: amounts[0].unit };
  return { ...said, ...full({ note, material: material ?? "" }) };
}

const step = ({ name, amounts, note, material }) =>
  full({ name, amounts: amounts.map(quantity), note, material: material ?? "" });

function columns({ base, steps }) {
  const said = full({ base: base.map(step), steps: steps.map(step) });
  return said.base || said.steps ? said : { steps: [] };
}

const weighed = (lines) => lines.map(({ called, parts }) => ({ name: called, parts: `${parts}` }));

export function told(page, recipe) {
  const meaning = full({
    kind: recipe.kind,
    name: recipe.name,
    fields: recipe.fields.size > 0 ? Object.fromEntries(recipe.fields) : "",
    base: recipe.base.map(ingredient),
    additions: recipe.additions.map(ingredient),
    handling: recipe.handling,
    variations: recipe.variations.map(({ name, base, additions, fields }) => ({
      name,
      additions: additions.map(ingredient),
      ...full({ base: base.map(ingredient), fields: fields.size > 0 ? Object.fromEntries(fields) : "" }),
    })),
    series: recipe.series.map((series) => ({ name: series.name, ...columns(series) })),
    blends: recipe.blends.map((blend) => ({ name: blend.name, by: `${blend.by} %`, ...columns(blend) })),
    uses: [...recipe.uses].map(([name, parts]) => ({
      name,
      parts: parts.map((part) => ({ name: part.called, share: `${part.share}` })),
    })),
    notes: recipe.notes,
    comments: page.comments,
    "unknown fields": recipe.unknown,
  });
  return {
    usable: recipe.unknown.length === 0,
    recipe: meaning,
    "base total": `${recipe.baseTotal}`,
    tests: recipe.tests().map((test) => ({
      label: test.label,
      ...(recipe.uses.size > 0 || test.isBaseSet ? { base: weighed(test.base) } : {}),
      additions: weighed(test.additions),
    })),
  };
}
