// Asks npm gs1-barcode-parser-mod about the texts given as JSON on standard input; answers as JSON. See labels.py.
const { parseBarcode } = require("gs1-barcode-parser-mod");
const names = { "01": "di", "10": "lot", "21": "serial", "17": "use_by", "11": "made" };
const inputs = JSON.parse(require("fs").readFileSync(0, "utf8"));
const answers = inputs.map((text) => {
  try {
    const fields = {};
    for (const item of parseBarcode(text).parsedCodeItems) {
      const name = names[item.ai];
      if (name && !(name in fields)) fields[name] = item.isoDate || String(item.raw ?? item.data);
    }
    return { verdict: "ok", fields };
  } catch {
    return { verdict: "no", fields: {} };
  }
});
console.log(JSON.stringify(answers));
