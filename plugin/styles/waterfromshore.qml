<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>
<qgis labelsEnabled="0" readOnly="0" styleCategories="LayerConfiguration|Symbology|Labeling|Fields|MapTips" version="3.22.16-Białowieża">
 <renderer-v2 attr="kind" enableorderby="0" forceraster="0" referencescale="-1" symbollevels="0" type="categorizedSymbol">
  <categories>
   <category label="open water, ends at the reach" render="true" symbol="0" value="open"/>
   <category label="closed by shore all round" render="true" symbol="1" value="ring"/>
  </categories>
  <symbols>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="0" type="fill">
    <layer class="SimpleFill" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="border_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="color" type="QString" value="86,180,233,80"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="0,60,110,220"/>
      <Option name="outline_style" type="QString" value="dash"/>
      <Option name="outline_width" type="QString" value="0.4"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="style" type="QString" value="solid"/>
     </Option>
    </layer>
   </symbol>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="1" type="fill">
    <layer class="SimpleFill" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="border_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="color" type="QString" value="86,180,233,80"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="0,60,110,220"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.4"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="style" type="QString" value="solid"/>
     </Option>
    </layer>
   </symbol>
  </symbols>
  <rotation/>
  <sizescale/>
 </renderer-v2>
 <blendMode>0</blendMode>
 <featureBlendMode>0</featureBlendMode>
 <aliases>
  <alias field="kind" index="0" name="Rim: open (ends at REACH) or ring (closed by shore)"/>
  <alias field="length_m" index="1" name="Shore on its rim [m]"/>
 </aliases>
 <previewExpression>"kind" || ' water, ' || round("length_m") || ' m of shore'</previewExpression>
 <mapTip>&lt;b&gt;[% "kind" %] water&lt;/b&gt;&lt;br&gt;[% round("length_m") %] m of shore on its rim</mapTip>
 <layerGeometryType>2</layerGeometryType>
</qgis>
