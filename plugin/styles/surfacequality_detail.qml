<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>
<qgis readOnly="0" styleCategories="LayerConfiguration|Symbology|Labeling|Fields|MapTips" version="3.22.16-Białowieża">
 <aliases>
  <alias field="site" index="0" name="Site"/>
  <alias field="az_deg" index="1" name="Azimuth [°]"/>
  <alias field="el_deg" index="2" name="Elevation angle [°]"/>
  <alias field="level_m" index="3" name="Level [m]"/>
  <alias field="height_m" index="4" name="Height over the surface [m]"/>
  <alias field="target" index="5" name="Target share"/>
  <alias field="avoid" index="6" name="Share to avoid"/>
  <alias field="hidden" index="7" name="Hidden share"/>
  <alias field="unknown" index="8" name="Unknown share"/>
  <alias field="usable" index="9" name="Usable share"/>
  <alias field="rough_m" index="10" name="Rms height of the surface [m]"/>
  <alias field="tilt_deg" index="11" name="Tilt of the ground [°]"/>
  <alias field="loss_db" index="12" name="Loss by roughness [dB]"/>
  <alias field="return_db" index="13" name="Return of the smooth surface [dB]"/>
 </aliases>
 <previewExpression/>
 <mapTip/>
 <layerGeometryType>4</layerGeometryType>
</qgis>
