// Prints what npm `isoxml` (Apache-2.0) reads from a zipped task set, as JSON. Arguments: folder of its install, zip.
const { createRequire } = require('module')
const path = require('path')
const fs = require('fs')
const [folder, zip] = process.argv.slice(2)
const { ISOXMLManager } = createRequire(path.resolve(folder) + '/')('isoxml')

const manager = new ISOXMLManager()
manager.parseISOXMLFile(new Uint8Array(fs.readFileSync(zip)), 'application/zip').then(() => {
  const root = manager.rootElement.attributes
  const id = reference => reference && reference.xmlId
  const pdv = variable => ({
    ddi: variable.attributes.ProcessDataDDI,
    value: variable.attributes.ProcessDataValue,
    product: variable.attributes.ProductIdRef.entity.attributes.ProductDesignator,
    scale: variable.attributes.ValuePresentationIdRef.entity.attributes.Scale,
    unit: variable.attributes.ValuePresentationIdRef.entity.attributes.UnitDesignator,
  })
  const polygons = list => {
    if (!list || list.length === 0) return []
    return list[0].constructor.toGeoJSON(list).coordinates
  }
  const task = entity => {
    const a = entity.attributes
    const grid = a.Grid && a.Grid[0]
    const zone = z => ({
      code: z.attributes.TreatmentZoneCode,
      name: z.attributes.TreatmentZoneDesignator,
      values: z.attributes.ProcessDataVariable.map(pdv),
      polygons: polygons(z.attributes.PolygonTreatmentZoneonly),
    })
    const told = {
      name: a.TaskDesignator,
      field: a.PartfieldIdRef.entity.attributes.PartfieldDesignator,
      default: a.DefaultTreatmentZoneCode,
      lost: a.PositionLostTreatmentZoneCode,
      outside: a.OutOfFieldTreatmentZoneCode,
      zones: a.TreatmentZone.map(zone),
    }
    if (grid) {
      const g = grid.attributes
      told.grid = {
        north: g.GridMinimumNorthPosition, east: g.GridMinimumEastPosition,
        cell_north: g.GridCellNorthSize, cell_east: g.GridCellEastSize,
        cols: g.GridMaximumColumn, rows: g.GridMaximumRow, type: Number(g.GridType),
        bytes: Buffer.from(grid.binaryData).toString('hex'),
      }
      if (told.grid.type === 2) {
        const n = told.zones[0].values.length
        const names = [...Array(n).keys()].map(index => 'v' + index)
        // Each cell that orders something, by this reader's own idea of where it lies.
        told.grid.cells = entity.getGridAsGeoJSON(names).features.map(feature => {
          const ring = feature.geometry.coordinates[0]
          return [(ring[0][0] + ring[2][0]) / 2, (ring[0][1] + ring[2][1]) / 2, ...names.map(v => feature.properties[v])]
        })
      }
    }
    return told
  }
  const field = entity => ({
    name: entity.attributes.PartfieldDesignator,
    area_m2: entity.attributes.PartfieldArea,
    polygons: entity.toGeoJSON().coordinates,
  })
  console.log(JSON.stringify({
    version: manager.originalRootElementVersion || manager.options.version,
    warnings: manager.getWarnings().map(String),
    fields: root.Partfield.map(field),
    tasks: root.Task.map(task),
  }))
})
