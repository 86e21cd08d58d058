<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>
<qgis labelsEnabled="0" readOnly="0" styleCategories="LayerConfiguration|Symbology|Labeling|Fields|MapTips" version="3.22.16-Białowieża">
 <renderer-v2 attr="el_deg" enableorderby="0" forceraster="0" graduatedMethod="GraduatedColor" referencescale="-1" symbollevels="0" type="graduatedSymbol">
  <ranges>
   <range label="skyline below 1°" lower="-90.000000000000000" render="true" symbol="0" upper="1.000000000000000"/>
   <range label="1 to 5°" lower="1.000000000000000" render="true" symbol="1" upper="5.000000000000000"/>
   <range label="5 to 10°" lower="5.000000000000000" render="true" symbol="2" upper="10.000000000000000"/>
   <range label="10 to 20°" lower="10.000000000000000" render="true" symbol="3" upper="20.000000000000000"/>
   <range label="20° and more" lower="20.000000000000000" render="true" symbol="4" upper="90.000000000000000"/>
  </ranges>
  <symbols>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="0" type="fill">
    <layer class="SimpleFill" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="border_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="color" type="QString" value="255,234,70,95"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="20,26,34,140"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.12"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="style" type="QString" value="solid"/>
     </Option>
    </layer>
   </symbol>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="1" type="fill">
    <layer class="SimpleFill" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="border_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="color" type="QString" value="190,175,111,95"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="20,26,34,140"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.12"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="style" type="QString" value="solid"/>
     </Option>
    </layer>
   </symbol>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="2" type="fill">
    <layer class="SimpleFill" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="border_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="color" type="QString" value="125,124,120,95"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="20,26,34,140"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.12"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="style" type="QString" value="solid"/>
     </Option>
    </layer>
   </symbol>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="3" type="fill">
    <layer class="SimpleFill" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="border_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="color" type="QString" value="65,77,107,95"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="20,26,34,140"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.12"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="style" type="QString" value="solid"/>
     </Option>
    </layer>
   </symbol>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="4" type="fill">
    <layer class="SimpleFill" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="border_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="color" type="QString" value="0,32,77,95"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="20,26,34,140"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.12"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="style" type="QString" value="solid"/>
     </Option>
    </layer>
   </symbol>
  </symbols>
  <classificationMethod id="Custom">
   <symmetricMode astride="0" enabled="0" symmetrypoint="0"/>
   <labelFormat format="%1 - %2" labelprecision="4" trimtrailingzeroes="1"/>
   <parameters>
    <Option/>
   </parameters>
   <extraInformation/>
  </classificationMethod>
  <rotation/>
  <sizescale/>
 </renderer-v2>
 <blendMode>0</blendMode>
 <featureBlendMode>0</featureBlendMode>
 <aliases>
  <alias field="site" index="0" name="Site"/>
  <alias field="az_deg" index="1" name="Azimuth [°]"/>
  <alias field="el_deg" index="2" name="Elevation angle of the skyline [°]"/>
  <alias field="dist_m" index="3" name="Distance to what forms it [m]"/>
 </aliases>
 <previewExpression>"site" || ', ' || round("az_deg", 1) || '°'</previewExpression>
 <mapTip>&lt;b&gt;[% "site" %]&lt;/b&gt;, azimuth [% round("az_deg", 1) %]°&lt;br&gt;[% CASE WHEN "el_deg" IS NULL THEN 'nothing is known in this direction' ELSE 'skyline at ' || format_number("el_deg", 1) || '°, formed ' || round("dist_m") || ' m out' END %]</mapTip>
 <layerGeometryType>2</layerGeometryType>
</qgis>
