"""CxF/X: the library's sample, conditions kept apart, hostile XML refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstsheet.engine.errors import ReadingError
from firstsheet.files.reading.measured.cxf import cxf_table
from firstsheet.files.reading.measured.open_reading import open_reading, open_readings

pytest.importorskip("colour_cxf")

CXF = """<?xml version="1.0" encoding="UTF-8"?>
<cc:CxF xmlns:cc="http://colorexchangeformat.com/CxF3-core">
 <cc:FileInformation><cc:Creator>harbour office</cc:Creator>
  <cc:CreationDate>2026-11-03T10:00:00+00:00</cc:CreationDate>
  <cc:Description>strip on the quay</cc:Description></cc:FileInformation>
 <cc:Resources><cc:ObjectCollection>
  <cc:Object ObjectType="Target" Name="A1" Id="o1">
   <cc:CreationDate>2026-11-03T10:00:00+00:00</cc:CreationDate>
   <cc:ColorValues>
    <cc:ColorCIELab ColorSpecification="one">
     <cc:L>95</cc:L><cc:A>0.5</cc:A><cc:B>-6</cc:B>
    </cc:ColorCIELab>
    <cc:ColorCIELab ColorSpecification="two">
     <cc:L>95</cc:L><cc:A>0.1</cc:A><cc:B>-1</cc:B>
    </cc:ColorCIELab>
   </cc:ColorValues>
   <cc:DeviceColorValues><cc:ColorRGB ColorSpecification="one"><cc:MaxRange>255</cc:MaxRange>
    <cc:R>255</cc:R><cc:G>255</cc:G><cc:B>255</cc:B></cc:ColorRGB></cc:DeviceColorValues>
  </cc:Object></cc:ObjectCollection>
  <cc:ColorSpecificationCollection>
   <cc:ColorSpecification Id="one"><cc:MeasurementSpec>
    <cc:MeasurementType>Colorimetric_Reflectance</cc:MeasurementType>
    <cc:GeometryChoice><cc:SingleAngle>
     <cc:SingleAngleConfiguration>Annular</cc:SingleAngleConfiguration>
     <cc:IlluminationAngle>45</cc:IlluminationAngle><cc:MeasurementAngle>0</cc:MeasurementAngle>
    </cc:SingleAngle></cc:GeometryChoice>
    <cc:Device><cc:DeviceIllumination>M1_Daylight</cc:DeviceIllumination></cc:Device>
   </cc:MeasurementSpec></cc:ColorSpecification>
   <cc:ColorSpecification Id="two"><cc:MeasurementSpec>
    <cc:MeasurementType>Colorimetric_Reflectance</cc:MeasurementType>
    <cc:GeometryChoice><cc:SingleAngle>
     <cc:SingleAngleConfiguration>Annular</cc:SingleAngleConfiguration>
     <cc:IlluminationAngle>45</cc:IlluminationAngle><cc:MeasurementAngle>0</cc:MeasurementAngle>
    </cc:SingleAngle></cc:GeometryChoice>
    <cc:Device><cc:DeviceIllumination>M2_UVExcluded</cc:DeviceIllumination></cc:Device>
   </cc:MeasurementSpec></cc:ColorSpecification>
  </cc:ColorSpecificationCollection></cc:Resources></cc:CxF>
"""


def test_conditions_and_device_values_come_out(tmp_path: Path) -> None:
    path = tmp_path / "strip.cxf"
    path.write_text(CXF, encoding="utf-8")
    found = {one.reading.condition.illumination: one.reading for one in open_readings(path)}

    assert {name: one.patches[0].lab for name, one in found.items()} == {
        "M1": (95.0, 0.5, -6.0),
        "M2": (95.0, 0.1, -1.0),
    }
    assert found["M1"].patches[0].device == (1.0, 1.0, 1.0)
    assert found["M1"].patches[0].name == "A1"
    assert found["M1"].made_at == "2026-11-03T10:00:00"
    assert found["M1"].title == "strip on the quay"


def test_the_librarys_own_sample_is_read() -> None:
    import colour_cxf

    path = Path(colour_cxf.__file__).parent / "tests" / "resources" / "sample.cxf"
    if not path.is_file():
        pytest.skip("the library came without its sample")
    reading = open_reading(path).reading

    assert len(reading.patches) == 144
    assert reading.patches[0].lab == (17.64167, 1.076669, 0.333859)
    assert reading.spectra is not None
    assert reading.spectra.wavelengths_nm[:2] == (380.0, 390.0)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"<CxF>", "not CxF/X-3"),
        (b'<?xml version="1.0"?><!DOCTYPE CxF [<!ENTITY a "b">]><CxF>&a;</CxF>', "entities"),
        (CXF.replace("<cc:Object ", "<cc:Nothing ").encode(), "not CxF/X-3|no measured patch"),
        (CXF.replace("<cc:L>95</cc:L>", "<cc:L>much</cc:L>").encode(), "not CxF/X-3"),
        (CXF[: len(CXF) // 2].encode(), "not CxF/X-3"),
    ],
)
def test_other_xml_is_refused(data: bytes, said: str) -> None:
    with pytest.raises(ReadingError, match=said):
        cxf_table(data, "strip.cxf")
