<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>
<qgis labelsEnabled="0" readOnly="0" styleCategories="LayerConfiguration|Symbology|Labeling|Fields|MapTips" version="3.22.16-Białowieża">
 <renderer-v2 enableorderby="0" forceraster="0" referencescale="-1" symbollevels="0" type="RuleRenderer">
  <rules key="{95264749-f13e-59ef-a8a9-f3c2c8267b87}">
   <rule filter="coalesce((&quot;el_deg&quot; - minimum(&quot;el_deg&quot;)) / nullif(maximum(&quot;el_deg&quot;) - minimum(&quot;el_deg&quot;), 0), 0) &lt; 0.25" key="{32bb47bf-bb28-51cb-8830-c5465bc5c625}" label="lowest angles (farthest out)" symbol="0"/>
   <rule filter="coalesce((&quot;el_deg&quot; - minimum(&quot;el_deg&quot;)) / nullif(maximum(&quot;el_deg&quot;) - minimum(&quot;el_deg&quot;), 0), 0) &gt;= 0.25 AND coalesce((&quot;el_deg&quot; - minimum(&quot;el_deg&quot;)) / nullif(maximum(&quot;el_deg&quot;) - minimum(&quot;el_deg&quot;), 0), 0) &lt; 0.5" key="{2ff27a4b-f75c-59ac-b589-bb78f6f2e243}" label="lower" symbol="1"/>
   <rule filter="coalesce((&quot;el_deg&quot; - minimum(&quot;el_deg&quot;)) / nullif(maximum(&quot;el_deg&quot;) - minimum(&quot;el_deg&quot;), 0), 0) &gt;= 0.5 AND coalesce((&quot;el_deg&quot; - minimum(&quot;el_deg&quot;)) / nullif(maximum(&quot;el_deg&quot;) - minimum(&quot;el_deg&quot;), 0), 0) &lt; 0.75" key="{39c06f13-d65a-55b9-a6a4-34587a864c6d}" label="higher" symbol="2"/>
   <rule filter="coalesce((&quot;el_deg&quot; - minimum(&quot;el_deg&quot;)) / nullif(maximum(&quot;el_deg&quot;) - minimum(&quot;el_deg&quot;), 0), 0) &gt;= 0.75" key="{a34fc201-ac52-57ce-8bbf-f25068c54c4e}" label="highest angles (nearest)" symbol="3"/>
  </rules>
  <symbols>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="0" type="fill">
    <layer class="SimpleFill" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="border_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="color" type="QString" value="0,0,255,255"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="255,233,246,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.2"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="style" type="QString" value="no"/>
     </Option>
    </layer>
   </symbol>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="1" type="fill">
    <layer class="SimpleFill" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="border_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="color" type="QString" value="0,0,255,255"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="255,176,221,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.22"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="style" type="QString" value="no"/>
     </Option>
    </layer>
   </symbol>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="2" type="fill">
    <layer class="SimpleFill" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="border_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="color" type="QString" value="0,0,255,255"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="238,108,184,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.24"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="style" type="QString" value="no"/>
     </Option>
    </layer>
   </symbol>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="3" type="fill">
    <layer class="SimpleFill" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="border_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="color" type="QString" value="0,0,255,255"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="168,32,111,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.26"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="style" type="QString" value="no"/>
     </Option>
    </layer>
   </symbol>
  </symbols>
 </renderer-v2>
 <blendMode>0</blendMode>
 <featureBlendMode>0</featureBlendMode>
 <aliases>
  <alias field="site" index="0" name="Site"/>
  <alias field="signal" index="1" name="Signal"/>
  <alias field="az_deg" index="2" name="Azimuth [°]"/>
  <alias field="el_deg" index="3" name="Elevation angle [°]"/>
  <alias field="height_m" index="4" name="Height over the surface [m]"/>
  <alias field="dist_m" index="5" name="Distance to the centre [m]"/>
  <alias field="length_m" index="6" name="Length [m]"/>
  <alias field="width_m" index="7" name="Width [m]"/>
  <alias field="area_m2" index="8" name="Area [m²]"/>
 </aliases>
 <previewExpression>"site" || ', ' || round("az_deg", 1) || '° azimuth, ' || round("el_deg", 1) || '° elevation'</previewExpression>
 <mapTip>&lt;b&gt;[% "site" %]&lt;/b&gt;, [% "signal" %]&lt;br&gt;azimuth [% round("az_deg", 1) %]°, elevation angle [% round("el_deg", 1) %]°&lt;br&gt;first Fresnel zone [% round("length_m", 1) %] m × [% round("width_m", 1) %] m, centre [% round("dist_m", 1) %] m out</mapTip>
 <layerGeometryType>2</layerGeometryType>
</qgis>
