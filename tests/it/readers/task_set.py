"""Prints what PyPI `isoxml` (Apache-2.0) reads from an unpacked task set, as JSON. Arguments: its install, TASKDATA.

Its classes carry the limits of the published schemas (lengths, patterns, ranges, decimals); each is checked here, and
elements or attributes it does not know are an error.
"""
import dataclasses, json, re, sys
from decimal import Decimal
from pathlib import Path

sys.path.insert(0, sys.argv[1])
from isoxml.converter.np_grid import to_numpy_array
from isoxml.models.ddi_entities import DDEntity
from isoxml.util.isoxml_io import isoxml_from_path
import isoxml.models.base.v3 as v3
import isoxml.models.base.v4 as v4
from xsdata.formats.dataclass.parsers import XmlParser
from xsdata.formats.dataclass.parsers.config import ParserConfig

folder = Path(sys.argv[2])
faults = []


def check(entity, where):
    for field in dataclasses.fields(entity):
        value, rule = getattr(entity, field.name), field.metadata
        for index, child in enumerate(value if isinstance(value, list) else []):
            check(child, f"{where}/{child.Meta.name}[{index}]")
        if isinstance(value, list) or rule.get("type") != "Attribute":
            continue
        at = f"{where}/@{rule.get('name', field.name)}"
        if value is None:
            if rule.get("required"):
                faults.append(f"{at} is missing")
            continue
        text = value if isinstance(value, str) else None
        if "min_inclusive" in rule and value < rule["min_inclusive"] or "max_inclusive" in rule and value > rule["max_inclusive"]:
            faults.append(f"{at} = {value} is out of range")
        if "length" in rule and isinstance(value, (str, bytes)) and len(value) != rule["length"]:
            faults.append(f"{at} = {value} has the wrong length")
        if text is not None and not rule.get("min_length", 0) <= len(text) <= rule.get("max_length", 10**9):
            faults.append(f"{at} = {value} has the wrong length")
        if text is not None and "pattern" in rule and not re.fullmatch(rule["pattern"], text):
            faults.append(f"{at} = {value} does not match")
        if "fraction_digits" in rule and -Decimal(value).as_tuple().exponent > rule["fraction_digits"]:
            faults.append(f"{at} = {value} has too many decimals")


xml = (folder / "TASKDATA.XML").read_text(encoding="utf-8")
module = v4 if 'VersionMajor="4"' in xml else v3
strict = XmlParser(ParserConfig(fail_on_unknown_properties=True, fail_on_unknown_attributes=True))
check(strict.from_string(xml, module.Iso11783TaskData), "")
data, files = isoxml_from_path(folder)
units = {vpn.id: (float(vpn.scale), vpn.unit_designator) for vpn in data.value_presentations}
products = {product.id: product.designator for product in data.products}
fields = {field.id: field for field in data.partfields}


def variable(pdv):
    scale, unit = units[pdv.value_presentation_id_ref]
    entry = DDEntity.from_id(int.from_bytes(pdv.process_data_ddi, "big"))
    return {"ddi": pdv.process_data_ddi.hex().upper(), "value": pdv.process_data_value,
            "dictionary_unit": entry.unit, "dictionary_size": entry.bit_resolution,
            "product": products[pdv.product_id_ref], "scale": scale, "unit": unit}


def task(entity):
    told = {"name": entity.designator, "field": fields[entity.partfield_id_ref].designator,
            "default": entity.default_treatment_zone_code, "lost": entity.position_lost_treatment_zone_code,
            "outside": entity.out_of_field_treatment_zone_code,
            "zones": [{"code": zone.code, "name": zone.designator,
                       "values": [variable(pdv) for pdv in zone.process_data_variables]}
                      for zone in entity.treatment_zones]}
    for grid in entity.grids:
        n = len(told["zones"][0]["values"])
        ddis = [DDEntity.from_id(int(v["ddi"], 16)) for v in told["zones"][0]["values"]] if grid.type.value == "2" else None
        values = to_numpy_array(files[grid.filename], grid, ddis, scale=False)
        told["grid"] = {"north": float(grid.minimum_north_position), "east": float(grid.minimum_east_position),
                        "cell_north": grid.cell_north_size, "cell_east": grid.cell_east_size,
                        "cols": grid.maximum_column, "rows": grid.maximum_row, "type": int(grid.type.value),
                        "bytes": values.tobytes().hex(), "shape": list(values.shape), "n": n}
    return told


print(json.dumps({"warnings": faults, "fields": [{"name": f.designator, "area_m2": f.area} for f in data.partfields],
                  "tasks": [task(entity) for entity in data.tasks]}))
