// Bundles main.js into viewer.js, as it stands in the page, with its hash for the page's content policy.
//
// Same package-lock.json, same bytes: `node build.mjs --check` builds and compares instead of writing.
import { createHash } from 'node:crypto';
import { readFileSync, writeFileSync } from 'node:fs';
import { build } from 'esbuild';

const here = (name) => new URL(name, import.meta.url);
const result = await build({
  entryPoints: [here('main.js').pathname],
  absWorkingDir: here('.').pathname.replace(/\/$/, ''),
  bundle: true,
  minify: true,
  format: 'iife',
  target: 'es2020',
  charset: 'ascii',
  legalComments: 'none',
  write: false,
});
let code = result.outputFiles[0].text.trim();
// The page is read as XML too: the script stands in a CDATA section, which must not end early. The sign occurs in
// code as an index compared with something, where a space changes nothing; inside a string it would.
code = code.replaceAll(']]>', ']] >');
for (const sign of ['</script', '<!--', '<script']) {
  if (code.toLowerCase().includes(sign)) throw new Error(`the bundle contains ${sign}`);
}
const licence = readFileSync(here('node_modules/three/LICENSE'), 'utf8').trim();
if (licence.includes('*/')) throw new Error('the licence ends its comment');
const version = JSON.parse(readFileSync(here('node_modules/three/package.json'), 'utf8')).version;
const script = `//<![CDATA[\n/* with three ${version}:\n${licence}\n*/\n${code}\n//]]>\n`;
const hash = `sha256-${createHash('sha256').update(script).digest('base64')}`;
const files = { 'viewer.js': script, 'viewer.hash': hash, 'LICENSE-three': `${licence}\n` };
for (const [name, text] of Object.entries(files)) {
  if (!process.argv.includes('--check')) writeFileSync(here(name), text);
  else if (readFileSync(here(name), 'utf8') !== text) throw new Error(`${name} is not what main.js makes: npm run build`);
}
console.log(`viewer.js: ${script.length} bytes, ${hash}`);
