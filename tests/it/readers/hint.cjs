// Prints what npm `@mapbox/geojsonhint` (ISC) finds in each file, as JSON. Arguments: folder of its install, files.
const { createRequire } = require('module')
const path = require('path')
const fs = require('fs')
const [folder, ...files] = process.argv.slice(2)
const { hint } = createRequire(path.resolve(folder) + '/')('@mapbox/geojsonhint')

process.stdout.write(JSON.stringify(files.map(file => hint(fs.readFileSync(file, 'utf8')))))
